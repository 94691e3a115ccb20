"""Where a car stood, by its record and the moves in its log: bays by day, and the air through them all."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date

from collection.chain.replay import BAY, bay_line, move_of
from collection.life.core.dated import Record
from collection.life.core.log_entries import LogEntry, happened
from collection.models import Bay, CareKind, Vehicle

RELATED = ("building__site__climate__measured__site", "building__measured__climate")
PREFETCH = ("building__site__climate__months", "building__measured__climate__months")
FOR_EVER_BEFORE = float("-inf")
Bays = Mapping[int, Bay]
Stays = Sequence[tuple[float, Bay | None]]


def moves(entries: Iterable[LogEntry]) -> list[LogEntry]:
    """Those entries that are moves to another place."""
    return [
        one
        for one in entries
        if one.entry["kind"] == CareKind.MOVED and not one.entry["details"].get("wheels_only")
    ]


def bays_named(
    logs: Mapping[int, Sequence[LogEntry]], records: Mapping[int, Record], vehicles: Mapping[int, Vehicle]
) -> Bays:
    """Every bay that a move or a record names and that is still there, in the organisations of the cars."""
    named = [one.entry["details"] for log in logs.values() for one in moves(log)]
    keys = {details.get(side) for details in named for side in ("from_bay", "to_bay")}
    written = [entry for record in records.values() for entry in record.entries if entry["id"] in record.own]
    keys |= {entry["details"][BAY]["now"] for entry in written if BAY in entry["details"]}
    keys -= {None}
    if not keys:
        return {}
    owners = {vehicle.organisation_id for vehicle in vehicles.values()}
    bays = Bay.objects.filter(building__site__organisation__in=owners)
    return bays.select_related(*RELATED).prefetch_related(*PREFETCH).in_bulk(keys)


def stood(
    vehicle: Vehicle,
    known: Sequence[LogEntry],
    whole: Sequence[LogEntry],
    written: Record,
    bays: Bays,
    day: date,
) -> Stays:
    """Since when the car stood in which bay by ``day``, the first for ever, as far as ``known``.

    A bay that is no more, that of another keeper, and none, is None. Where the record was never opened, the
    bay that its row names counts from the last move of the ``whole`` log.
    """
    if written.entries:
        return _by_record(known, whole, written, bays, day)
    here, every = moves(known), [one for one in moves(whole) if one.stands]
    if not here:
        return [(FOR_EVER_BEFORE, _bay(every[0], "from_bay", bays) if every else vehicle.bay)]
    stays = [(FOR_EVER_BEFORE, _first(here[0], bays))]
    stays += [(one.day, _bay(one, "to_bay", bays)) for one in here]
    if every and here[-1].entry["id"] == every[-1].entry["id"]:
        stays[-1] = (stays[-1][0], vehicle.bay)
    return stays


def _by_record(
    known: Sequence[LogEntry], whole: Sequence[LogEntry], written: Record, bays: Bays, day: date
) -> Stays:
    roots = {str(one.entry["id"]): one.entry for one in whole}
    here = moves(known)
    moved = [replace(move_of(one.entry, roots), at=happened(one.entry)) for one in here]
    line = bay_line(written.entries, moved)
    stays: list[tuple[float, Bay | None]] = []
    for fact in line:
        since = FOR_EVER_BEFORE if fact.since is None else float(written.day_of(fact.since).toordinal())
        if since <= day.toordinal():
            ours = not fact.entry or fact.entry in written.own
            stays.append((since, bays.get(fact.value or 0) if ours else None))
    if not stays or stays[0][0] != FOR_EVER_BEFORE:
        stays.insert(0, (FOR_EVER_BEFORE, _first(here[0], bays) if here else None))
    return stays


def _first(move: LogEntry, bays: Bays) -> Bay | None:
    """Where a car stood before the first move that is known of it."""
    return _bay(move, "from_bay" if move.entry["details"].get("from_bay") else "to_bay", bays)


def _bay(move: LogEntry, side: str, bays: Bays) -> Bay | None:
    return bays.get(move.entry["details"].get(side) or 0)
