"""What the record and the care log tell of a car's storage: stays, doings, gaps."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

from collection.care.queries.care import day_of, log_of
from collection.care.queries.chain import brought_entries
from collection.models import Bay, Building, CareKind, Entry, Vehicle
from collection.models.care import effective

LATE_RECORDED = timedelta(days=2)
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


def unmended(entries: Sequence[Entry]) -> Iterator[tuple[Entry, date, str]]:
    """What inspections found since the last that found nothing wrong; standing entries, oldest first."""
    looks = [entry for entry in entries if entry.kind == CareKind.INSPECTED]
    clean = max((at for at, entry in enumerate(looks) if entry.details.get("ok")), default=-1)
    for entry in looks[clean + 1 :]:
        for words in entry.details.get("found") or []:
            yield entry, day_of(entry), words


def done_since(vehicle: Vehicle, since: date) -> list[Entry]:
    """What was done from a day on, oldest first."""
    since_then = effective(vehicle.entries.filter(done_at__date__gte=since))
    return list(since_then.select_related("by").order_by("done_at"))


def stays(vehicle: Vehicle, entries: Sequence[Entry]) -> list[Stay]:
    """Where the car stood, oldest first, from the standing entries (oldest first) and its present bay."""
    moves = [e for e in entries if e.kind == CareKind.MOVED and not e.details.get("wheels_only")]
    bays = _bays(vehicle, moves)
    places = [_place(bays, move, "from") for move in moves[:1]]
    places += [_place(bays, move, "to") for move in moves]
    if not moves or (vehicle.bay_id and moves[-1].details.get("to_bay") != vehicle.bay_id):
        # The record was changed by hand: what it says now is the last word, the moves say the rest.
        places[-1:] = [_now(vehicle)] if not moves else [places[-1], _now(vehicle)]
    starts = [vehicle.stored_since, *(day_of(move) for move in moves)]
    starts += [None] * (len(places) - len(starts))
    ends = [*starts[1:], vehicle.left_on]
    return [Stay(since, until, *place) for since, until, place in zip(starts, ends, places, strict=True)]


def _bays(vehicle: Vehicle, moves: Iterable[Entry]) -> dict[int, Bay]:
    """The bays of moves in this organisation; what was brought from elsewhere keeps its words only."""
    brought = brought_entries(vehicle)
    ours = [move for move in moves if move.pk not in brought]
    keys = {move.details.get(f"{side}_bay") for move in ours for side in ("from", "to")}
    bays = Bay.objects.filter(building__site__organisation=vehicle.organisation_id)
    return bays.select_related("building__site__climate").in_bulk([key for key in keys if key])


def _place(bays: dict[int, Bay], move: Entry, side: str) -> tuple[str, Building | None]:
    bay = bays.get(move.details.get(f"{side}_bay") or 0)
    label = move.details.get(f"{side}_bay_label") or (str(bay) if bay else NOWHERE)
    return label, bay.building if bay else None


def _now(vehicle: Vehicle) -> tuple[str, Building | None]:
    bay = vehicle.bay
    return (str(bay), bay.building) if bay else (NOWHERE, None)


def silences(days: Sequence[date], *, since: date | None, until: date, longest_days: float) -> list[Gap]:
    """Times without a single entry that were longer than an inspection may take; ``days`` in order."""
    known = [day for day in ([since] if since else []) + list(days) if day <= until]
    return [
        Gap(before, after, f"no entry of any kind for {(after - before).days} days")
        for before, after in pairwise([*known, until])
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
