"""Whether a history agrees with what somebody kept from before: a statement or an earlier export."""

from collections.abc import Iterator
from datetime import datetime

from collection.chain.canonical import digest
from collection.chain.check_anchors import CLOCK_GRACE, first_anchors, recorded_at
from collection.chain.links import Facts
from collection.chain.shape import HISTORIES
from collection.chain.signing import is_signed
from collection.chain.statements import holds, names, same_keeper
from collection.chain.verdict import Fault


def check_witness(history: Facts, witness: Facts) -> Iterator[Fault]:
    """Every contradiction; a witness that is not genuine is a fault of its own."""
    if witness["form"] in HISTORIES:
        yield from _earlier_export(history, witness)
    else:
        yield from _statement(history, witness)


def _earlier_export(history: Facts, witness: Facts) -> Iterator[Fault]:
    unsigned = {name: value for name, value in witness.items() if name != "signature"}
    if not is_signed(unsigned, key=witness["key"], signature=witness["signature"]):
        yield Fault("witness", 0, "The earlier export does not bear a right signature: it proves nothing.")
    elif witness["chain"] != history["chain"]:
        yield Fault("witness", 0, "The earlier export is of another car's chain.")
    else:
        for link in witness["links"]:
            yield from _same_head(history, link["seq"], link["digest"], "the earlier export")
        kept = {digest(anchor["statement"]) for anchor in history["anchors"]}
        for anchor in witness["anchors"]:
            if digest(anchor["statement"]) not in kept:
                day = anchor["statement"]["at"][:10]
                text = f"The statement of {day} stood in the earlier export and is no longer here."
                yield Fault("witness", anchor["seq"], text)


def _statement(history: Facts, witness: Facts) -> Iterator[Fault]:
    statement = witness["statement"]
    title = f"the statement {statement['number']} of {statement['at'][:10]} that you hold"
    heads = [(head["chain"], head["seq"], head["head"]) for head in witness["heads"]]
    genuine = is_signed(statement, key=statement["key"], signature=witness["signature"])
    named = not witness.get("named") or names(witness["named"], statement)
    if not (genuine and named and holds(statement, heads)):
        yield Fault("witness", 0, f"{title.capitalize()} is not genuine: it proves nothing.")
        return
    mine = {chain: (seq, head) for chain, seq, head in heads}.get(history["chain"])
    if mine:
        yield from _same_head(history, *mine, title)
    yield from _another_version(history, witness, title)
    yield from _unknown_then(history, witness, mine[0] if mine else 0, title)


def _same_head(history: Facts, seq: int, head: str, title: str) -> Iterator[Fault]:
    now = {link["seq"]: link["digest"] for link in history["links"]}.get(seq)
    if now is None:
        yield Fault("witness", seq, f"Entry {seq} stood in {title} and is no longer here.")
    elif now != head:
        yield Fault("witness", seq, f"The chain up to entry {seq} is not the one in {title}.")


def _another_version(history: Facts, witness: Facts, title: str) -> Iterator[Fault]:
    statement = witness["statement"]
    for anchor in history["anchors"]:
        other = anchor["statement"]
        same = same_keeper(anchor, witness) and all(
            other[name] == statement[name] for name in ("key", "number")
        )
        if same and digest(other) != digest(statement):
            yield Fault("witness", anchor["seq"], f"The file holds another version of {title}.")


def _by_another(history: Facts, anchor: Facts, witness: Facts) -> bool:
    """Whether an anchor is another keeper's: by key, or by name where the file names both."""
    if anchor["statement"]["key"] != witness["statement"]["key"]:
        return True
    named = any(same_keeper(each, witness) for each in history["anchors"])
    return named and not same_keeper(anchor, witness)


def _unknown_then(history: Facts, witness: Facts, reach: int, title: str) -> Iterator[Fault]:
    """Entries that claim to have been recorded in the statement's time, of which it knows nothing."""
    statement = witness["statement"]
    until = datetime.fromisoformat(statement["at"]) - CLOCK_GRACE
    since = datetime.fromisoformat(statement["since"]) + CLOCK_GRACE if statement["since"] else None
    times = recorded_at(history)
    for seq, anchor in first_anchors(history).items():
        if _by_another(history, anchor, witness) or seq <= reach or seq not in times:
            continue
        if times[seq] < until and (reach or since is None or times[seq] > since):
            yield Fault("backdated", seq, f"Entry {seq} says it was recorded before {title}, which lacks it.")
