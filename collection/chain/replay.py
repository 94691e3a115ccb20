"""A car's record as its entries tell it: what each field was, since when, and what it is at last.

An entry of the record says of each field that it changed what it is ``now`` and ``since`` which day; one
that opens the record says all of it. What is written later holds from its day on, over whatever was
written before; what corrects an earlier fact takes that one's place. Logged moves say where the car stands
as well. Entries are mappings as they are exported, or rows with the same names; moments need only be
comparable with one another.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

RECORD, MOVED, BAY = "record", "moved", "bay"
EMPTY = (None, "")
OF_A_TABLE = "sheet-"  # how the keys of entries begin that a table brought

Entry = Mapping[str, Any]


@dataclass(frozen=True)
class Fact:
    """What a field was from a day (of the bay: a moment) on; ``since`` None is for as long as it is known."""

    value: Any
    since: Any
    entry: str
    label: str = ""  # of a bay, as it was written then


@dataclass(frozen=True)
class Move:
    """A move that stands: when it was done, when it was first written down, where to."""

    at: Any
    written: Any
    bay: Any
    label: str = ""
    of_a_table: bool = False


def timeline(records: Iterable[Entry], name: str) -> list[Fact]:
    """One field but the bay through time, from entries of the record in the order of their writing."""
    line: list[Fact] = []
    for entry in records:
        fact = _fact(entry, name, known=bool(line))
        if fact is None or _corrected(line, entry, fact):
            continue
        since = _day(fact) or (str(entry["recorded_at"])[:10] if line else None)
        while line and since is not None and line[-1].since is not None and line[-1].since >= since:
            line.pop()
        line.append(Fact(fact.get("now"), since, str(entry["id"])))
    return line


def bay_line(records: Iterable[Entry], moves: Iterable[Move]) -> list[Fact]:
    """Where the car stood through time, from entries of its record and the moves that stand.

    A bay that was written down without a day counts from the last thing known of it by then. A move that
    is logged late takes its place in time, unless the record has been told otherwise since. A move that a
    table brought tells of then only: the car stands where the record had it when that was next written down,
    or when the table came.
    """
    looked: list[Any] = []
    line: list[Fact] = []
    events: list[tuple[Any, Any]] = [(move.written, move) for move in moves]
    events += [(entry["recorded_at"], entry) for entry in records]
    for _, each in sorted(events, key=lambda pair: pair[0]):
        if isinstance(each, Move):
            _insert(line, each, looked)
            continue
        fact = _fact(each, BAY, known=bool(line))
        if fact is None or _corrected(line, each, fact):
            continue
        looked.append(each["recorded_at"])
        since = each["done_at"] if _day(fact) else line[-1].since if line else None
        while line and (since is None or (line[-1].since is not None and line[-1].since >= since)):
            line.pop()
        line.append(Fact(fact.get("now"), since, str(each["id"]), fact.get("now_label", "")))
    return line


def _insert(line: list[Fact], move: Move, looked: Sequence[Any]) -> None:
    """Put a move in its place in time; ``looked``: when the bay was written on the record so far."""
    at = len(line) - sum(1 for fact in line if fact.since is not None and fact.since > move.at)
    again = next((moment for moment in looked if moment > move.at), move.written)
    if move.of_a_table and at and not (at < len(line) and line[at].since <= again):
        line.insert(at, replace(line[at - 1], since=again))
    line.insert(at, Fact(move.bay, move.at, "", move.label))


def moves_of(entries: Sequence[Entry]) -> list[Move]:
    """The moves to another place among entries of the log, without those that were corrected or withdrawn."""
    by_id = {str(entry["id"]): entry for entry in entries}
    gone = {str(entry["corrects"]) for entry in entries if entry["corrects"]}
    return [
        move_of(entry, by_id)
        for entry in entries
        if entry["kind"] == MOVED and str(entry["id"]) not in gone and not entry["details"].get("wheels_only")
    ]


def move_of(entry: Entry, by_id: Mapping[str, Entry]) -> Move:
    """A logged move; it was first written down by the entry in whose place it stands."""
    details, first = entry["details"], first_of(entry, by_id)
    key = first["key"] if "key" in first else first["idempotency_key"]
    return Move(
        entry["done_at"],
        first["recorded_at"],
        details.get("to_bay"),
        details.get("to_bay_label", ""),
        str(key).startswith(OF_A_TABLE),
    )


def replay(entries: Sequence[Entry]) -> dict[str, Any] | None:
    """What the record is at last, by field, empty ones left out; None where no entry opens it."""
    records = [entry for entry in entries if entry["kind"] == RECORD]
    if not any(_opens(entry) for entry in records):
        return None
    names = {name for entry in records for name, fact in entry["details"].items() if isinstance(fact, dict)}
    last = {name: timeline(records, name)[-1].value for name in names - {BAY}}
    stood = bay_line(records, moves_of(entries))
    last[BAY] = stood[-1].value if stood else None
    return {name: value for name, value in last.items() if value not in EMPTY}


def _opens(entry: Entry) -> bool:
    return entry["details"].get("opening") is True


def _fact(entry: Entry, name: str, *, known: bool) -> dict[str, Any] | None:
    """What an entry says of a field; one that opens the record says that what it does not name is empty."""
    fact = entry["details"].get(name)
    if isinstance(fact, dict):
        return fact
    return {"now": None} if _opens(entry) and known else None


def _day(fact: dict[str, Any]) -> str | None:
    day = fact.get("since")
    return day if isinstance(day, str) else None


def _corrected(line: list[Fact], entry: Entry, fact: dict[str, Any]) -> bool:
    """Put a correction in the place of the fact that it corrects; False where it is none."""
    there = [at for at, old in enumerate(line) if old.entry and old.entry == fact.get("corrects")]
    now, label = fact.get("now"), fact.get("now_label", "")
    for at in there:
        line[at] = replace(line[at], value=now, entry=str(entry["id"]), label=label)
    return bool(there)


def first_of(entry: Entry, by_id: Mapping[str, Entry]) -> Entry:
    """The entry in whose place it stands, through however many corrections."""
    seen = set()
    while entry["corrects"] and str(entry["corrects"]) in by_id and str(entry["id"]) not in seen:
        seen.add(str(entry["id"]))
        entry = by_id[str(entry["corrects"])]
    return entry
