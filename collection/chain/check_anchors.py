"""Whether the chain is the one that the signed statements speak of, at their time."""

from collections.abc import Iterator
from datetime import datetime, timedelta
from itertools import pairwise

from collection.chain.links import Facts
from collection.chain.signing import is_signed
from collection.chain.statements import covers, names
from collection.chain.verdict import Fault

CLOCK_GRACE = timedelta(hours=1)  # policy: an entry may be under way while a statement is made


def check_anchors(history: Facts) -> Iterator[Fault]:
    """Every statement in the file that is not genuine, or that the chain contradicts."""
    links = {link["seq"]: link for link in history["links"]}
    for anchor in history["anchors"]:
        yield from _anchor(history["chain"], anchor, links)
    for before, after in pairwise(history["anchors"]):
        if after["seq"] <= before["seq"] or after["statement"]["at"] < before["statement"]["at"]:
            yield Fault("anchor", after["seq"], f"The {title_of(after)} is out of its order.")
    yield from _in_time(history)


def title_of(anchor: Facts) -> str:
    """A statement by its number and its day."""
    statement = anchor["statement"]
    return f"statement {statement['number']} of {statement['at'][:10]}"


def _anchor(chain: str, anchor: Facts, links: dict[int, Facts]) -> Iterator[Fault]:
    statement, seq = anchor["statement"], anchor["seq"]
    if not is_signed(statement, key=statement["key"], signature=anchor["signature"]):
        yield Fault("anchor", seq, f"The {title_of(anchor)} does not bear a right signature.")
    elif not _named_rightly(anchor):
        yield Fault("anchor", seq, f"The {title_of(anchor)} was not signed by the keeper that it names here.")
    elif seq not in links:
        yield Fault("deleted", seq, f"The {title_of(anchor)} knew entry {seq}; it is no longer here.")
    elif not covers(
        statement,
        chain=chain,
        seq=seq,
        head=links[seq]["digest"],
        place=anchor["place"],
        proof=anchor["proof"],
    ):
        yield Fault(
            "anchor", seq, f"The chain up to entry {seq} is not the one signed in the {title_of(anchor)}."
        )


def _named_rightly(anchor: Facts) -> bool:
    return not anchor.get("named") or names(anchor["named"], anchor["statement"])


def first_anchors(history: Facts) -> dict[int, Facts]:
    """For the number of each link that is covered, the first anchor that covers it."""
    first: dict[int, Facts] = {}
    anchors = iter(sorted(history["anchors"], key=lambda anchor: int(anchor["seq"])))
    anchor = next(anchors, None)
    for seq in sorted(link["seq"] for link in history["links"]):
        while anchor and anchor["seq"] < seq:
            anchor = next(anchors, None)
        if anchor:
            first[seq] = anchor
    return first


def recorded_at(history: Facts) -> dict[int, datetime]:
    """When each chained entry says it was recorded."""
    times = {entry["id"]: datetime.fromisoformat(entry["recorded_at"]) for entry in history["entries"]}
    return {link["seq"]: times[link["entry"]] for link in history["links"] if link["entry"] in times}


def _in_time(history: Facts) -> Iterator[Fault]:
    """Entries whose time of recording is outside what the statements around them allow."""
    times = recorded_at(history)
    for seq, (anchor, since) in _windows(history).items():
        if seq in times and since and times[seq] < datetime.fromisoformat(since) - CLOCK_GRACE:
            text = f"Entry {seq} says it was recorded on {times[seq]:%Y-%m-%d}; a statement signed after that"
            yield Fault("backdated", seq, f"{text}, on {since[:10]}, did not know it.")
        if (
            seq in times
            and anchor
            and times[seq] > datetime.fromisoformat(anchor["statement"]["at"]) + CLOCK_GRACE
        ):
            text = f"Entry {seq} says it was recorded after the {title_of(anchor)}, which covers it already."
            yield Fault("anchor", seq, text)


def _windows(history: Facts) -> dict[int, tuple[Facts | None, str | None]]:
    """For each link the first anchor that covers it, and the latest moment stated before without it."""
    first = first_anchors(history)
    ends = sorted((anchor["seq"], anchor["statement"]["at"]) for anchor in history["anchors"])
    windows = {}
    for seq in (link["seq"] for link in history["links"]):
        anchor = first.get(seq)
        without = [at for end, at in ends if end < seq]
        if anchor and anchor["statement"]["since"]:
            without.append(anchor["statement"]["since"])
        windows[seq] = (anchor, max(without, default=None))
    return windows
