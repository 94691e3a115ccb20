"""Whether an organisation's statements are all there, one made on top of the other."""

from collections.abc import Iterator, Sequence
from itertools import pairwise

from collection.chain.canonical import digest
from collection.chain.links import NOTHING_BEFORE, Facts
from collection.chain.shape import SHAPES, misfits
from collection.chain.signing import is_signed
from collection.chain.statements import holds
from collection.chain.verdict import Fault


def check_series(files: Sequence[Facts]) -> Iterator[Fault]:
    """Every fault of statement files in the order of their numbers; ``seq`` of a fault is such a number."""
    if any(True for file in files for _ in misfits(file, SHAPES[file["form"]])):
        yield Fault("anchor", 0, "A statement is not of the form in which it was signed.")
        return
    for file in files:
        statement = file["statement"]
        title, heads = f"Statement {statement['number']}", file["heads"]
        if not is_signed(statement, key=statement["key"], signature=file["signature"]):
            yield Fault("anchor", statement["number"], f"{title} does not bear a right signature.")
        if not holds(statement, [(head["chain"], head["seq"], head["head"]) for head in heads]):
            yield Fault(
                "anchor", statement["number"], f"The heads kept with {title.lower()} are not its own."
            )
    first = {"number": 0, "at": None}
    for before, after in pairwise([first, *(file["statement"] for file in files)]):
        expected = digest(before) if before["number"] else NOTHING_BEFORE
        joined = (after["number"], after["previous"], after["since"])
        if joined != (before["number"] + 1, expected, before["at"]):
            text = f"Statement {after['number']} was not made on top of {before['number'] or 'nothing'}."
            yield Fault("anchor", after["number"], text)
