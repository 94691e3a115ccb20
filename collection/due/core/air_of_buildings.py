"""The air of a building day by day, and how much of it was measured."""

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from collection.life.core.places import place_for
from collection.models import Building
from scheduler.physics.air.damp import DAMP_RH_PCT
from scheduler.physics.climate.place import Place, courses, span

WEEK = 7
FROST_C = 0.0


@dataclass(frozen=True)
class YearOfAir:
    """Day by day: mean, lowest, highest temperature, mean relative humidity, and whether it was measured."""

    days: list[float]
    mean_c: list[float]
    low_c: list[float]
    high_c: list[float]
    rh_pct: list[float]
    measured: list[bool]
    damp_pct: float = DAMP_RH_PCT.value

    @property
    def frost_days(self) -> int:
        """Days on which it froze."""
        return sum(1 for value in self.low_c if value < FROST_C)

    @property
    def damp_weeks(self) -> int:
        """Weeks that were damp on the average."""
        weeks = [self.rh_pct[at : at + WEEK] for at in range(0, len(self.rh_pct) - WEEK + 1, WEEK)]
        return sum(1 for week in weeks if sum(week) / WEEK > self.damp_pct)

    @property
    def measured_days(self) -> int:
        """Days of which a logger wrote the hours."""
        return sum(self.measured)

    @property
    def stretches(self) -> list[tuple[date, date]]:
        """The first and the last day of each stretch that was measured."""
        spans: list[tuple[date, date]] = []
        seen = (int(at) for at, known in zip(self.days, self.measured, strict=True) if known)
        for day in map(date.fromordinal, seen):
            if spans and day - spans[-1][1] == timedelta(days=1):
                spans[-1] = (spans[-1][0], day)
            else:
                spans.append((day, day))
        return spans


def air_of(building: Building, *, first: date, last: date, today: date) -> YearOfAir:
    """The air inside a building, or in a yard; its climates' months must have been fetched."""
    place = place_for(building.site.climate, building, today)
    part: Place = span(place, first.toordinal(), last.toordinal() + 1)
    temp_c, rh_pct = courses(part)
    seen = np.zeros(len(temp_c), np.bool_)
    seen[part.seen] = True
    return YearOfAir(
        days=[float(day) for day in range(part.first_day, part.end_day)],
        mean_c=temp_c.mean(axis=1).tolist(),
        low_c=temp_c.min(axis=1).tolist(),
        high_c=temp_c.max(axis=1).tolist(),
        rh_pct=rh_pct.mean(axis=1).tolist(),
        measured=seen.tolist(),
    )
