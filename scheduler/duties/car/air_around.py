"""What the air around one car has done of late: wet hours, sweating metal, mould weather."""

import numpy as np

from scheduler.duties.conditions import Fleet
from scheduler.duties.measured import newest
from scheduler.duties.windows import Step
from scheduler.duties.words import number, spoken
from scheduler.physics.air.damp import (
    RH_BANDS,
    SEVERAL_DAYS,
    WEEKS_DAYS,
    mould_likely,
    rh_band,
    wet_hours,
    wetness_class,
)
from scheduler.physics.air.surfaces import METAL_LAG_HOURS, sweating_hours
from scheduler.physics.climate import Place, courses, span

YEAR_DAYS, MONTH_DAYS, SEASON_DAYS = 365, 30, 60
LEAST_RH_PCT = 1.0  # air is never bone dry; keeps the logarithm of the dew point


def air_steps(fleet: Fleet, today: float) -> tuple[Step, ...]:
    """The air at one car's place as lines of an explanation."""
    place = fleet.places[int(fleet.place[0])]
    return (
        _wetness(_past(place, today, YEAR_DAYS)),
        _sweating(_past(place, today, MONTH_DAYS)),
        _mould(_past(place, today, SEASON_DAYS)),
        *_at_the_surface(fleet, today),
    )


def _past(place: Place, today: float, days: int) -> Place:
    end = int(today) + 1
    return span(place, max(place.first_day, end - days), end)


def _wetness(year: Place) -> Step:
    temp_c, rh_pct = courses(year)
    hours = int(wet_hours(temp_c, rh_pct).sum())
    worked = f"{hours} hours in the past {year.days} days: class {wetness_class(hours)} of 5"
    return Step("Time of wetness", "hours above 80 % and above 0 °C (ISO 9223)", worked)


def _sweating(month: Place) -> Step:
    temp_c, rh_pct = courses(month)
    hours = int(sweating_hours(temp_c.ravel(), np.maximum(rh_pct.ravel(), LEAST_RH_PCT)).sum())
    rule = f"metal {number(METAL_LAG_HOURS.value)} h behind the air, below its dew point"
    advice = "wipe dry, keep doors shut on mild wet days" if hours else "none"
    return Step("Sweating metal", rule, f"{hours} hours in the past {month.days} days: {advice}")


def _mould(season: Place) -> Step:
    likely = mould_likely(season.mean_c, season.rh_pct)
    weeks, several = number(WEEKS_DAYS.value), number(SEVERAL_DAYS.value)
    rule = f"{weeks} mild days on end above 75 %, or {several} above 80 %"
    return Step("Mould", rule, "mould weather: look under seats and trim" if likely else "no mould weather")


def _at_the_surface(fleet: Fleet, today: float) -> tuple[Step, ...]:
    since = np.full(len(fleet), today - SEASON_DAYS)
    read = newest(fleet, "surface_rh", since, today, 0.0, 100.0)
    if np.isnan(read.value[0]):
        return ()
    band = RH_BANDS[int(rh_band(read.value[0]))]
    return (Step("Humidity measured", "", f"{number(read.value[0])} % on {spoken(read.day[0])}: {band}"),)
