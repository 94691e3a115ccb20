"""The air around a car: as measured where a logger stood, else as its place and climate give it."""

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from collection.life.core.gather import gather
from collection.models import Vehicle
from scheduler.physics.air.damp import DAMP_RH_PCT
from scheduler.physics.climate.place import courses, span

WEEK = 7


@dataclass(frozen=True)
class Air:
    """Relative humidity, per cent, as the mean of the week that begins on each of the days (ordinals)."""

    days: list[float]
    rh_pct: list[float]
    damp_pct: float

    def damp_weeks(self) -> int:
        """How many of the weeks are damp on the average."""
        return sum(1 for value in self.rh_pct if value > self.damp_pct)


def air_around(vehicle: Vehicle, *, first: date, last: date, today: date) -> Air:
    """Week by week, in the place of each stretch; ValueError where the record forbids it."""
    fleet = gather([vehicle.pk], today=today).fleet
    place = fleet.places[int(fleet.place[0])]
    begin = max(first.toordinal(), place.first_day)
    end = min((last + timedelta(days=1)).toordinal(), place.end_day)
    whole = begin + (end - begin) // WEEK * WEEK
    if whole == begin:  # not a week
        return Air([], [], DAMP_RH_PCT.value)
    _, rh_pct = courses(span(place, begin, whole))
    weeks = rh_pct.reshape(-1, WEEK * 24).mean(axis=1)
    return Air([float(day) for day in np.arange(begin, whole, WEEK)], weeks.tolist(), DAMP_RH_PCT.value)
