"""Writing down what the record of a car says: rows change here only, and each save is an entry of its chain.

Whoever changes a row of the record (a car, its battery, fuel, fluids, tyres, last uses) does so inside
``recorded``, or opens the record of a new car with ``open_records``: rows and entry are stored together.
"""

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta, tzinfo
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from collection.care.actions.chain import append_links, pseudonyms
from collection.care.queries.care import released, zone_of
from collection.care.queries.clock import CLOCK_BEHIND, clock_behind
from collection.care.queries.record import (
    Values,
    record_facts,
    recorded_values,
    stands_in,
)
from collection.care.queries.stays import stood_there
from collection.chain.replay import BAY, Fact, timeline
from collection.life.record_entries import as_written, record_entries
from collection.models import Bay, Person, RecordEntry, Vehicle
from collection.web.faults import Faults

# By part of the record ("" is the car itself): the fields that hold the day since which they are so, or that
# day of the whole part.
OWN_DAYS = {
    "": ("stored_since", "left_on", "taken_back_on"),
    "battery": ("maintainer_since", "removed_on", "installed_on"),
}
DAY_OF_PART = {"fluid": "changed_on", "fuel": "as_of", "last": "on"}


@dataclass(frozen=True)
class Edit:
    """Who writes the record down and when; since which day it is so (today where None), and how one knows.

    ``corrects``: it was never otherwise; what is written takes the place of what was written before.
    """

    by: Person | None
    now: datetime
    since: date | None = None
    basis: str = ""
    corrects: bool = False


@contextmanager
def recorded(vehicle: Vehicle, edit: Edit) -> Iterator[None]:
    """Change rows of a car's record inside; what became another value is written down as one entry.

    ValidationError (field ``since``) where it cannot be so since that day; then nothing is stored.
    """
    with transaction.atomic():
        before = _before(vehicle, edit.now)
        zone = zone_of(Vehicle.objects.get(pk=vehicle.pk)) if before is not None else None
        yield
        if before is None or zone is None:
            open_records([vehicle], edit)
        else:
            _write_changes(vehicle, before, edit, zone)


def open_records(vehicles: Sequence[Vehicle], edit: Edit) -> None:
    """Write down the whole record of each of these cars as it stands.

    Nobody says since when; but where the edit does, it stands in its bay since that day.
    """
    values = recorded_values([vehicle.pk for vehicle in vehicles])
    for vehicle in vehicles:
        stands = values[vehicle.pk]
        days = {BAY: edit.since.isoformat()} if edit.since else {}
        facts = {name: {"was": None, "now": value, "since": days.get(name)} for name, value in stands.items()}
        _write(vehicle, facts, edit, opening=True)


def _before(vehicle: Vehicle, now: datetime) -> Values | None:
    """The record as it stands, with an entry that opens it; None where the car is new."""
    if vehicle.pk is None:
        return None
    stored = Vehicle.objects.select_for_update().get(pk=vehicle.pk)  # one writer a car
    if released(stored) and vehicle.left_on == stored.left_on:
        raise ValidationError("This car was handed over: its record goes on where it is now.")
    if not stored.record_entries.exists():
        open_records([stored], Edit(None, now))
    return recorded_values([vehicle.pk])[vehicle.pk]


def _write_changes(vehicle: Vehicle, before: Values, edit: Edit, zone: tzinfo) -> None:
    after = recorded_values([vehicle.pk])[vehicle.pk]
    changed = sorted(name for name in before.keys() | after.keys() if before.get(name) != after.get(name))
    if not changed:
        return
    today = edit.now.astimezone(zone).date()
    since = edit.since or today
    stood = stands_in(vehicle) if BAY in changed else []
    moment = edit.now if since == today else datetime.combine(since, time(), zone)
    faults = _faults(changed, after, edit, today, stood, moment)
    if not faults and BAY in after and BAY in changed and not edit.corrects:
        faults = _taken(vehicle, after[BAY], moment)
    if faults:
        raise ValidationError(dict(faults))
    facts = {
        name: {
            "was": before.get(name),
            "now": after.get(name),
            "since": _since(name, after, since).isoformat(),
        }
        for name in changed
    }
    if edit.corrects:
        _point_back(vehicle, facts, stood)
    _write(vehicle, facts, edit, moment=moment if moment < edit.now else None)


def _faults(
    changed: Sequence[str], after: Values, edit: Edit, today: date, stood: Sequence[Fact], moment: datetime
) -> Faults:
    since, year = edit.since or today, after.get("year")
    if since > today:
        return {"since": "This is in the future: give today or an earlier day."}
    if year and since.year < year - 1:
        return {"since": f"This is before the car was built ({year}): check the day."}
    left = after.get("left_on")
    if left and "left_on" not in changed and since > date.fromisoformat(left) and edit.since:
        day = date.fromisoformat(left)
        return {"since": f"The car left storage on {day:%-d %b %Y}: give that day or an earlier one."}
    if BAY in changed:
        return _bay_faults(after, edit, since, stood, moment)
    for name in changed:
        made = after.get(f"{name.rpartition('.')[0]}.made_on")
        if made and name.startswith("battery.") and since < date.fromisoformat(made):
            return {
                "since": f"The battery was made on {date.fromisoformat(made):%-d %b %Y}: give a later day."
            }
    return {}


def _bay_faults(after: Values, edit: Edit, since: date, stood: Sequence[Fact], moment: datetime) -> Faults:
    stored = after.get("stored_since")
    if stored and since < date.fromisoformat(stored) and not edit.corrects:
        day = date.fromisoformat(stored)
        return {"since": f"The car is in storage here since {day:%-d %b %Y}: give that day or a later one."}
    last = stood[-1] if stood else None
    if last is None or last.entry:
        return {}
    moved = f"Its log has it moved on {last.since:%-d %b %Y}"
    if edit.corrects:
        return {"corrects": f"{moved}: correct that move in the log instead."}
    if moment < last.since:
        return {"since": f"{moved}: give that day or a later one, or correct that move."}
    return {}


def _taken(vehicle: Vehicle, bay: int, moment: datetime) -> Faults:
    """Whether another car stood in the bay on that day."""
    other = stood_there(bay, moment, vehicle)
    if other is None:
        return {}
    day = moment.astimezone(zone_of(vehicle)).date()
    return {
        "since": f"{other} stood in that bay on {day:%-d %b %Y}: give another bay or day, or log its move."
    }


def _since(name: str, after: Values, since: date) -> date:
    """The day from which a field holds its new value: its own, where it has one."""
    where, _, column = name.rpartition(".")
    part = where.partition(".")[0]
    own = column if column in OWN_DAYS.get(part, ()) else DAY_OF_PART.get(part)
    day = after.get(f"{where}.{own}" if where else own) if own else None
    return date.fromisoformat(day) if day else since


def _point_back(vehicle: Vehicle, facts: dict[str, dict[str, Any]], stood: Sequence[Fact]) -> None:
    """Let each fact name the entry that it corrects, and hold since that one did."""
    entries = record_entries([vehicle.pk])[vehicle.pk]
    records = [as_written(entry) for entry in entries]
    opening = next(entry for entry in reversed(entries) if entry.opening)
    for name, fact in facts.items():
        line = stood if name == BAY else timeline(records, name)
        old = line[-1] if line else Fact(None, None, str(opening.pk))
        since = old.since.date().isoformat() if isinstance(old.since, datetime) else old.since
        fact |= {"since": since, "corrects": old.entry}


def _write(
    vehicle: Vehicle,
    facts: Mapping[str, Mapping[str, Any]],
    edit: Edit,
    *,
    opening: bool = False,
    moment: datetime | None = None,
) -> None:
    behind = clock_behind(vehicle, edit.now)
    entry = RecordEntry(
        vehicle=vehicle,
        by=edit.by,
        done_at=moment or edit.now + behind,
        recorded_at=edit.now + behind,
        facts=_labelled(facts) | _clock(behind),
        basis=edit.basis,
        opening=opening,
    )
    by = pseudonyms({entry.by_id})[entry.by_id] if entry.by_id else ""
    [entry.link] = append_links(vehicle, [record_facts(entry, by=by)], [None])
    entry.save(force_insert=True)


def _labelled(facts: Mapping[str, Mapping[str, Any]]) -> dict[str, Any]:
    """The facts with the bay by its words, so that the entry reads by itself for ever."""
    labelled: dict[str, Any] = dict(facts)
    if BAY in labelled:
        keys = {side: labelled[BAY][side] for side in ("was", "now") if labelled[BAY][side]}
        bays = Bay.objects.select_related("building").in_bulk(keys.values())
        words = {f"{side}_label": str(bays[pk]) for side, pk in keys.items() if pk in bays}
        labelled[BAY] = {**labelled[BAY], **words}
    return labelled


def _clock(behind: timedelta) -> dict[str, int]:
    return {CLOCK_BEHIND: round(behind.total_seconds())} if behind else {}
