"""The duties that keepers added as computed rows: their days by what was set and what was logged."""

from collections.abc import Collection, Mapping, Sequence
from datetime import date

import numpy as np

from collection.life.core.log_entries import zone_of_car
from collection.models import CareKind, DutyRow, Entry, OwnDuty, Vehicle
from collection.models.care import effective
from scheduler.duties.own import own_dates
from scheduler.life.log import NAN, ordinal
from scheduler.vocabulary.intervals import interval_days

Done = Mapping[tuple[int, str], Entry]


def own_rows(vehicles: Sequence[Vehicle]) -> list[DutyRow]:
    """A row for each that is still asked for; when they were computed is left to whoever stores them."""
    cars = {vehicle.pk: vehicle for vehicle in vehicles}
    own = list(OwnDuty.objects.filter(vehicle__in=cars, ended_on=None).order_by("vehicle", "pk"))
    if not own:
        return []
    done = last_done_of(cars)
    days = {duty.pk: _day(done.get((duty.vehicle_id, duty.code)), cars[duty.vehicle_id]) for duty in own}
    set_for = [_set_for(duty, done.get((duty.vehicle_id, duty.code))) for duty in own]
    early, due = own_dates(
        [ordinal(day) for day in set_for],
        [ordinal(days[duty.pk] or duty.begun) for duty in own],
        [interval_days(duty.interval) if duty.interval else NAN for duty in own],
        [duty.remind_days for duty in own],
    )
    return [
        _row(duty, float(early[at]), float(due[at]), by_interval=set_for[at] is None)
        for at, duty in enumerate(own)
    ]


def last_done_of(cars: Collection[int]) -> dict[tuple[int, str], Entry]:
    """The entry that last did each own duty of these cars, by car and code."""
    entries = effective(Entry.objects.filter(vehicle__in=cars, kind=CareKind.OWN_DUTY))
    return {(e.vehicle_id, e.details["own"]): e for e in entries.order_by("done_at", "recorded_at")}


def _day(entry: Entry | None, vehicle: Vehicle) -> date | None:
    return entry.done_at.astimezone(zone_of_car(vehicle)).date() if entry else None


def _set_for(duty: OwnDuty, done: Entry | None) -> date | None:
    """The day that was set for it, unless it was done since that was written down."""
    if done and (duty.dated_at is None or done.recorded_at > duty.dated_at):
        return None
    return duty.due_on


def _row(duty: OwnDuty, early: float, due: float, *, by_interval: bool) -> DutyRow:
    day = None if np.isnan(due) else date.fromordinal(int(due))
    words = f"every {duty.interval}" if by_interval and duty.interval else "the day that was set for it"
    return DutyRow(
        vehicle_id=duty.vehicle_id,
        duty=duty.code,
        title=duty.title,
        minutes=duty.minutes,
        early=date.fromordinal(int(early)) if day else None,
        due=day,
        late=day,
        limit=words if day else "done, and no day is set",
        hold="",
        assumed=False,
        unknown=False,
        fingerprint="own",
    )
