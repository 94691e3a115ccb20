"""Which car stood in a bay on a day gone by, by the records and the moves of all that may have been there."""

from collections.abc import Iterator
from datetime import datetime, time, timedelta
from itertools import zip_longest

from django.db.models import Q

from collection.care.queries.care import zone_of
from collection.care.queries.record import stands_in
from collection.models import CareKind, Vehicle


def stood_there(bay: int, moment: datetime, but: Vehicle) -> Vehicle | None:
    """Another car that stood in the bay from before the day of the moment until after it; None for none.

    One of which nobody knows since when it stands there stands in nobody's way.
    """
    zone = zone_of(but)
    start = datetime.combine(moment.astimezone(zone).date(), time(), zone)
    end = start + timedelta(days=1)
    for car in _candidates(bay, but):
        left = datetime.combine(car.left_on, time(), zone) if car.left_on else None
        for since, until in _stays(car, bay):
            gone = min((each for each in (until, left) if each), default=None)
            if since < start and (gone is None or gone >= end):
                return car
    return None


def _candidates(bay: int, but: Vehicle) -> list[Vehicle]:
    """Cars that were moved into or out of the bay, or that are recorded in it."""
    moved = Q(entries__kind=CareKind.MOVED) & (
        Q(entries__details__to_bay=bay) | Q(entries__details__from_bay=bay)
    )
    written = Q(record_entries__facts__bay__now=bay)
    cars = Vehicle.objects.filter(moved | written | Q(bay=bay), organisation=but.organisation_id)
    return list(cars.exclude(pk=but.pk).distinct())


def _stays(car: Vehicle, bay: int) -> Iterator[tuple[datetime, datetime | None]]:
    line = stands_in(car)
    for fact, after in zip_longest(line, line[1:]):
        if fact.value == bay and fact.since is not None:
            yield fact.since, after.since if after else None
