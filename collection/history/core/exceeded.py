"""How long a car stood beyond the limits of its curves, counted over the days of a period."""

from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from collection.life.core.gather import gather
from collection.life.core.states import course_of, stretches_of
from collection.life.core.store import policies_on, runs_of
from collection.models import Vehicle
from scheduler.duties.battery.charge.evidence import gather as evidence
from scheduler.duties.windows import Band, Floats

MOST_DAYS = 4000  # a longer period is looked at every second day, or third


@dataclass(frozen=True)
class Beyond:
    """Days on the wrong side of one line: likely, and the least and most that the curve allows.

    Each day counts by the line in force on it; ``line`` is that of the last day.
    ``known_days`` of the period are those on which the curve is drawn at all; ``since`` the first.
    ``assumed``: no charge and no reading tells the level, it was taken to be full at the lay-up.
    """

    level: str
    line: float
    likely_days: int
    least_days: int
    most_days: int
    known_days: int
    since: date | None
    assumed: bool = False


def battery_below(vehicle: Vehicle, *, first: date, last: date) -> list[Beyond]:
    """Days below the recharge level and below the level at which sulphate hardens."""
    spells = _beyond(vehicle, "charge", first, last, below=True)
    fleet = gather([vehicle.pk], today=last).fleet
    told = evidence(fleet, float(last.toordinal()))
    silent = bool(np.isnan(told.events.soc).all() and np.isnan(told.floating_since).all())
    return [replace(each, assumed=silent) for each in spells]


def fuel_past(vehicle: Vehicle, *, first: date, last: date) -> list[Beyond]:
    """Days with stale fuel in the tank, and days past the point up to which treating it helps."""
    return _beyond(vehicle, "fuel_change", first, last, below=False)


def _beyond(vehicle: Vehicle, duty: str, first: date, last: date, *, below: bool) -> list[Beyond]:
    days = range(first.toordinal(), last.toordinal() + 1, 1 + (last - first).days // MOST_DAYS)
    day, each = np.array(days, float), [date.fromordinal(day) for day in days]
    policies = policies_on(vehicle.organisation_id, each, by_now=True)
    parts = stretches_of(vehicle, duty, first=first, last=last, today=last)
    band = course_of(duty, parts, day, policies[-1])
    lines = np.empty((len(band.levels), day.size))
    for begin, end, policy in runs_of(policies):
        levels = course_of(duty, parts, day[begin : begin + 1], policy).levels
        lines[:, begin:end] = np.array([level.value for level in levels])[:, None]
    return [
        _count(band, level.name, line, days.step, below)
        for level, line in zip(band.levels, lines, strict=True)
    ]


def _count(band: Band, name: str, line: Floats, step: int, below: bool) -> Beyond:
    known = ~np.isnan(band.likely)
    over = [(curve < line) if below else (curve > line) for curve in (band.low, band.likely, band.high)]
    counts = [step * int((known & each).sum()) for each in over]
    first = band.days[known]
    since = date.fromordinal(int(first[0])) if first.size else None
    return Beyond(name, float(line[-1]), counts[1], min(counts), max(counts), step * int(known.sum()), since)
