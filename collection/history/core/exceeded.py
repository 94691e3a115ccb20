"""How long a car stood beyond the limits of its curves, counted over the days of a period."""

from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from collection.life.core.gather import gather
from collection.life.core.memoised import memoised
from collection.life.core.store import Run, policies_on, runs_of
from collection.models import Vehicle
from scheduler.duties.battery import charge
from scheduler.duties.battery.charge.evidence import gather as evidence
from scheduler.duties.conditions import Fleet
from scheduler.duties.fuel import fuel_change
from scheduler.duties.table import BandOf
from scheduler.duties.windows import Band

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
    spells = _beyond(vehicle, charge.band, first, last, below=True)
    fleet = gather([vehicle.pk], today=last).fleet
    told = evidence(fleet, float(last.toordinal()))
    silent = bool(np.isnan(told.events.soc).all() and np.isnan(told.floating_since).all())
    return [replace(each, assumed=silent) for each in spells]


def fuel_past(vehicle: Vehicle, *, first: date, last: date) -> list[Beyond]:
    """Days with stale fuel in the tank, and days past the point up to which treating it helps."""
    return _beyond(vehicle, fuel_change.band, first, last, below=False)


def _beyond(vehicle: Vehicle, band_of: BandOf, first: date, last: date, *, below: bool) -> list[Beyond]:
    fleet = gather([vehicle.pk], today=last).fleet
    days = range(first.toordinal(), last.toordinal() + 1, 1 + (last - first).days // MOST_DAYS)
    policies = policies_on(vehicle.organisation_id, [date.fromordinal(day) for day in days], by_now=True)
    return list(memoised(_counted, fleet, band_of, days, tuple(runs_of(policies)), below))


def _counted(
    fleet: Fleet, band_of: BandOf, days: range, runs: tuple[Run, ...], below: bool
) -> tuple[Beyond, ...]:
    day = np.array(days, float)
    bands = [band_of(fleet, day[begin:end], policy) for begin, end, policy in runs]
    names = [level.name for level in bands[-1].levels]
    return tuple(_count(bands, at, name, days.step, below) for at, name in enumerate(names))


def _count(bands: list[Band], level: int, name: str, step: int, below: bool) -> Beyond:
    counts, known_days, since = np.zeros(3, int), 0, None
    for band in bands:
        line, known = band.levels[level].value, ~np.isnan(band.likely)
        over = [(curve < line) if below else (curve > line) for curve in (band.low, band.likely, band.high)]
        counts += [step * int((known & each).sum()) for each in over]
        known_days += step * int(known.sum())
        if since is None and known.any():
            since = date.fromordinal(int(band.days[known][0]))
    least, most = int(counts.min()), int(counts.max())
    return Beyond(name, bands[-1].levels[level].value, int(counts[1]), least, most, known_days, since)
