"""What the record and the care log tell of a car's storage: stays, doings, gaps."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise
from typing import Any

from django.utils import timezone

from collection.care.queries.care import day_of, log_of
from collection.care.queries.chain import brought_entries
from collection.care.queries.record import stands_in
from collection.chain.replay import Fact
from collection.models import Bay, Building, CareKind, Entry, RecordEntry, Vehicle
from collection.models.care import effective

LATE_RECORDED = timedelta(days=2)
# How long a car may go unseen from each of some days on
Unseen = Callable[[Sequence[date]], Sequence[float]]
NOWHERE = "a place that is not written down"


@dataclass(frozen=True)
class Stay:
    """A time in one place; the building is None where the place is not one of ours."""

    since: date | None
    until: date | None
    place: str
    building: Building | None


@dataclass(frozen=True)
class Gap:
    """A time in which something that was asked for was not done."""

    since: date
    until: date | None
    what: str


def recorded_late(entry: Entry) -> bool:
    """Whether it was written down days after it was done."""
    return entry.recorded_at - entry.done_at > LATE_RECORDED


def whole_log(vehicle: Vehicle) -> list[Entry]:
    """Every entry, oldest first, corrected ones too."""
    return list(reversed(log_of(vehicle)))


def standing(entries: Iterable[Entry]) -> list[Entry]:
    """The entries that still stand: neither corrected nor withdrawn."""
    kept = (entry for entry in entries if entry.kind != CareKind.WITHDRAWN)
    return [entry for entry in kept if getattr(entry, "corrected_by", None) is None]


def done_since(vehicle: Vehicle, since: date) -> list[Entry]:
    """What was done from a day on, oldest first."""
    since_then = effective(vehicle.entries.filter(done_at__date__gte=since))
    return list(since_then.select_related("by").order_by("done_at"))


def stays(vehicle: Vehicle, entries: Sequence[Entry]) -> list[Stay]:
    """Where the car stood, oldest first, by its record and the standing entries (oldest first) of its log."""
    moves = [e for e in entries if e.kind == CareKind.MOVED and not e.details.get("wheels_only")]
    record = list(vehicle.record_entries.all())
    starts, places = _by_record(vehicle, moves, record) if record else _by_row(vehicle, moves)
    ends = [*starts[1:], vehicle.left_on]
    return [Stay(since, until, *place) for since, until, place in zip(starts, ends, places, strict=True)]


Told = tuple[list[date | None], list[tuple[str, Building | None]]]


def _by_record(vehicle: Vehicle, moves: Sequence[Entry], record: Sequence[RecordEntry]) -> Told:
    told = [fact for fact in stands_in(vehicle) if not _gone(vehicle, fact)]
    ours = {str(entry.pk) for entry in record if not entry.brought} | {""}
    bays = _bays(vehicle, moves, [fact.value for fact in told if fact.entry in ours])
    starts = [timezone.localtime(fact.since).date() if fact.since else None for fact in told]
    places = [_named(bays if fact.entry in ours else {}, fact.value, fact.label) for fact in told]
    if moves and (not starts or starts[0]):
        starts.insert(0, None)
        places.insert(0, _place(bays, moves[0], "from"))
    starts[:1] = [vehicle.stored_since]
    return starts, places or [_now(vehicle)]


def _gone(vehicle: Vehicle, fact: Fact) -> bool:
    """Whether it tells of the time after the car has left."""
    left = vehicle.left_on
    return bool(left and fact.since and timezone.localtime(fact.since).date() >= left)


def _by_row(vehicle: Vehicle, moves: Sequence[Entry]) -> Told:
    """The same of a car whose record was never opened: its row has the last word, since nobody knows when."""
    bays = _bays(vehicle, moves)
    places = [_place(bays, move, "from") for move in moves[:1]]
    places += [_place(bays, move, "to") for move in moves]
    if not moves or (vehicle.bay_id and moves[-1].details.get("to_bay") != vehicle.bay_id):
        places[-1:] = [_now(vehicle)] if not moves else [places[-1], _now(vehicle)]
    starts = [vehicle.stored_since, *(day_of(move) for move in moves)]
    return starts + [None] * (len(places) - len(starts)), places


def _bays(vehicle: Vehicle, moves: Iterable[Entry], others: Iterable[Any] = ()) -> dict[int, Bay]:
    """The bays of moves in this organisation, and others; what was brought keeps its words only."""
    brought = brought_entries(vehicle)
    ours = [move for move in moves if move.pk not in brought]
    keys = {move.details.get(f"{side}_bay") for move in ours for side in ("from", "to")} | set(others)
    bays = Bay.objects.filter(building__site__organisation=vehicle.organisation_id)
    return bays.select_related("building__site__climate").in_bulk([key for key in keys if key])


def _place(bays: dict[int, Bay], move: Entry, side: str) -> tuple[str, Building | None]:
    return _named(bays, move.details.get(f"{side}_bay"), move.details.get(f"{side}_bay_label", ""))


def _named(bays: dict[int, Bay], key: Any, label: str) -> tuple[str, Building | None]:
    bay = bays.get(key or 0)
    return label or (str(bay) if bay else NOWHERE), bay.building if bay else None


def _now(vehicle: Vehicle) -> tuple[str, Building | None]:
    bay = vehicle.bay
    return (str(bay), bay.building) if bay else (NOWHERE, None)


def silences(days: Sequence[date], *, since: date | None, until: date, unseen: Unseen) -> list[Gap]:
    """Times without a single entry that were longer than a car may go ``unseen``; ``days`` in order."""
    known = [day for day in ([since] if since else []) + list(days) if day <= until]
    return [
        Gap(before, after, f"no entry of any kind for {(after - before).days} days")
        for (before, after), longest_days in zip(pairwise([*known, until]), unseen(known), strict=True)
        if (after - before).days > longest_days
    ]


def not_done(entries: Iterable[Entry], titles: dict[str, str]) -> list[Gap]:
    """What somebody wrote down as not done, with the reason given."""
    return [
        Gap(day_of(entry), day_of(entry), _refusal(entry, titles))
        for entry in entries
        if entry.kind == CareKind.NOT_DONE
    ]


def _refusal(entry: Entry, titles: dict[str, str]) -> str:
    work = titles.get(entry.details.get("duty", ""), "Work")
    return f"{work} not done: {entry.details.get('reason') or 'no reason given'}"
