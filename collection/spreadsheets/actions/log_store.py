"""Storing the checked entries of a table, all in the caller's transaction."""

import uuid
from collections.abc import Sequence
from datetime import datetime

from django.core.exceptions import ValidationError

from collection.care.actions.chain import chain_entries
from collection.care.draft import Draft, Measured
from collection.chain.replay import OF_A_TABLE
from collection.life.summaries import invalidate
from collection.models import Entry, Person, Reading, Vehicle
from collection.spreadsheets.actions.log import Line

BATCH = 500
# of a car, against which rows are checked
CHECKED = ("organisation_id", "tank_litres", "system_volts", "assumed")


def key_of(sheet: uuid.UUID) -> str:
    """How the keys of the entries begin that one table brought."""
    return f"{OF_A_TABLE}{sheet.hex}-"


def stored_keys(sheet: uuid.UUID, cars: Sequence[int]) -> dict[str, uuid.UUID]:
    """What of a table is stored already, by the key of each line."""
    start = key_of(sheet)
    rows = Entry.objects.filter(vehicle__in=cars, idempotency_key__startswith=start)
    return {key.removeprefix(start): pk for pk, key in rows.values_list("pk", "idempotency_key")}


def store_log(lines: Sequence[Line], *, sheet: uuid.UUID, by: Person, now: datetime, after: int) -> list[int]:
    """Store the entries, their readings and links, in the caller's transaction; returns the cars touched.

    Each is recorded a microsecond after the one before, and after the ``after`` that were stored earlier, so
    that the chain keeps the order of the table.
    """
    cars = {line.draft.vehicle.pk for line in lines}
    locked = list(Vehicle.objects.select_for_update().filter(pk__in=cars).order_by("pk"))
    _still_so(lines, locked)
    entries, readings = [], []
    for nth, line in enumerate(lines, after):
        entry = _entry(line, nth, sheet, by, now)
        entries.append(entry)
        readings += [_reading(entry, it) for it in line.draft.readings]
    Entry.objects.bulk_create(entries, batch_size=BATCH)
    Reading.objects.bulk_create(readings, batch_size=BATCH)
    chain_entries(entries)
    invalidate(cars)
    return sorted(cars)


def _entry(line: Line, nth: int, sheet: uuid.UUID, by: Person, now: datetime) -> Entry:
    draft = line.draft
    return Entry(
        pk=line.pk,
        vehicle_id=draft.vehicle.pk,
        kind=draft.kind,
        done_at=draft.done_at or now,
        recorded_at=now.replace(microsecond=0) + (nth * now.resolution),
        by=by,
        details=dict(draft.details) | line.filled,
        note=draft.note,
        idempotency_key=f"{key_of(sheet)}{line.key}",
    )


def _reading(entry: Entry, it: Measured) -> Reading:
    return Reading(
        entry=entry,
        quantity=it.quantity,
        value=it.value,
        position=it.position,
        temperature_c=it.temperature_c,
        rest_hours=it.rest_hours,
    )


def _still_so(lines: Sequence[Line], now_here: Sequence[Vehicle]) -> None:
    """The cars are still as they were when the rows were checked against them."""
    here = {car.pk: car for car in now_here}
    for line in lines:
        then = line.draft.vehicle
        if not _is_as_then(line.draft, here.get(then.pk)):
            raise ValidationError(f"{then} was changed while its rows were checked: check the table again.")


def _is_as_then(draft: Draft, car: Vehicle | None) -> bool:
    if car is None or any(getattr(draft.vehicle, name) != getattr(car, name) for name in CHECKED):
        return False
    if car.left_on is None or draft.vehicle.left_on is not None:
        return True
    return draft.done_at is not None and draft.done_at.date() <= car.left_on
