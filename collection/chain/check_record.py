"""Whether the record that stands in a history is the one that its entries tell."""

from collections.abc import Iterator

from collection.chain.links import Facts
from collection.chain.replay import EMPTY, replay
from collection.chain.verdict import Fault
from collection.chain.withholding import unknown_of_record


def check_record(history: Facts) -> Iterator[Fault]:
    """A fault for each field that was changed without an entry; none where no entry opens the record."""
    replayed = replay(history["entries"])
    stands = {name: value for name, value in history.get("record", {}).items() if value not in EMPTY}
    if history.get("withheld"):
        if stands:
            yield Fault("record", 0, "The record cannot be compared with its entries: some are left out.")
        return
    if replayed is None or "record" not in history:
        return
    unknown = unknown_of_record(history["links"])
    for name in sorted((stands.keys() | replayed.keys()) - unknown):
        if stands.get(name) != replayed.get(name):
            here, there = _format(stands.get(name)), _format(replayed.get(name))
            text = f"The record says of {field_words(name)}: {here}. Its entries say: {there}."
            yield Fault("record", 0, text)


def field_words(name: str) -> str:
    """A field of the record in words: ``battery.17.made_on`` is battery 17, made on."""
    return ", ".join(" ".join(part.split("_")) for part in _parts(name))


def _parts(name: str) -> list[str]:
    first, *rest = name.split(".")
    if first == "battery" and len(rest) == 2:
        return [f"battery {rest[0]}", rest[1]]
    return [first, *rest]


def _format(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return "empty" if value is None else str(value)
