"""The air where a car stands, in the few numbers that a reader of its history needs."""

from dataclasses import dataclass
from datetime import date
from functools import lru_cache

import numpy as np

from collection.life.core.places import place_for
from collection.models import Building
from scheduler.physics.climate import Place, courses, span

MONTHS = 12
QUARTER = 3  # months that make a season


@dataclass(frozen=True)
class Air:
    """Mean temperature and relative humidity of the coldest and of the warmest quarter of a year."""

    winter_c: float
    winter_rh_pct: float
    summer_c: float
    summer_rh_pct: float


def air_in(building: Building, *, today: date) -> Air:
    """The air inside a building (or in a yard) through the year before this one."""
    return _air(place_for(building.site.climate, building, today), today.year - 1)


@lru_cache(maxsize=256)  # many cars stand in one air, and a place is itself
def _air(place: Place, year: int) -> Air:
    first, end = (date(y, 1, 1).toordinal() for y in (year, year + 1))
    temp_c, rh_pct = courses(span(place, first, end))
    month = np.array([date.fromordinal(day).month - 1 for day in range(first, end)])
    monthly = np.array([[x[month == m].mean() for m in range(MONTHS)] for x in (temp_c, rh_pct)])
    quarters = np.array([np.roll(monthly, -m, axis=1)[:, :QUARTER].mean(axis=1) for m in range(MONTHS)])
    winter, summer = quarters[quarters[:, 0].argmin()], quarters[quarters[:, 0].argmax()]
    return Air(float(winter[0]), float(winter[1]), float(summer[0]), float(summer[1]))
