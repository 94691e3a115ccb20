"""How long a car stood beyond the limits of its curves, counted over the days of a period."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from collection.life.core.gather import gather
from collection.life.core.memoised import memoised
from collection.life.core.store import policy_of
from collection.models import Vehicle
from scheduler.duties.battery import charge
from scheduler.duties.battery.charge.evidence import gather as evidence
from scheduler.duties.conditions import Fleet
from scheduler.duties.fuel import fuel_change
from scheduler.duties.policy import Policy
from scheduler.duties.windows import Band, Floats

BandOf = Callable[[Fleet, Floats, Policy], Band]
MOST_DAYS = 4000  # a longer period is looked at every second day, or third


@dataclass(frozen=True)
class Beyond:
    """Days on the wrong side of one line: likely, and the least and most that the curve allows.

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
    fleet, policy = gather([vehicle.pk], today=last).fleet, policy_of(vehicle.organisation_id)
    return list(memoised(_counted, fleet, band_of, first, last, below, policy))


def _counted(
    fleet: Fleet, band_of: BandOf, first: date, last: date, below: bool, policy: Policy
) -> tuple[Beyond, ...]:
    step = 1 + (last - first).days // MOST_DAYS
    band = band_of(fleet, np.arange(first.toordinal(), last.toordinal() + 1.0, step), policy)
    return tuple(_count(band, level.name, level.value, step, below) for level in band.levels)


def _count(band: Band, name: str, line: float, step: int, below: bool) -> Beyond:
    known = ~np.isnan(band.likely)
    over = [(curve < line) if below else (curve > line) for curve in (band.low, band.likely, band.high)]
    counts = [step * int((known & each).sum()) for each in over]
    first = band.days[known]
    since = date.fromordinal(int(first[0])) if first.size else None
    return Beyond(name, line, counts[1], min(counts), max(counts), step * int(known.sum()), since)
