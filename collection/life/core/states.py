"""How a system of a car stood, stands and will stand, day by day: what every page draws and counts.

A past day is worked out with the battery, fuel, tyres and fluids that the car had on it, isolated or not as
it was, by all that is known now; a coming day with what it has today, as if nothing more were done.
"""

from collections.abc import Sequence
from datetime import date

import numpy as np

from collection.life.core.gather import Stretch, stretches
from collection.life.core.memoised import memoised
from collection.life.core.once import once
from collection.models import Vehicle
from scheduler.duties.conditions import Fleet
from scheduler.duties.policy import Policy
from scheduler.duties.table import BY_NAME
from scheduler.duties.windows import Band, Floats
from scheduler.vocabulary.duties import DUTY

# Their curves run from event to event themselves; any other sets out from the newest reading alone.
BY_EVENTS = ("battery", "fuel")


def stretches_of(vehicle: Vehicle, duty: str, *, first: date, last: date, today: date) -> list[Stretch]:
    """Days from ``first`` to ``last`` with the car as it was on them, for a duty that has a curve."""
    row = DUTY[duty]
    readings = () if row.record in BY_EVENTS else tuple(row.measured_by)
    return once(
        ("stretches", vehicle.pk, first, last, today, readings),
        lambda: stretches(vehicle.pk, first=first, last=last, today=today, readings=readings),
    )


def course_of(duty: str, parts: Sequence[Stretch], days: Floats, policy: Policy) -> Band:
    """What the curve of a duty shows over ``days`` (d,), each within one of the stretches."""
    bands = []
    for part in parts:
        within = days[(days >= part.first) & (days <= part.last)]
        if within.size:
            bands.append(memoised(_band, part.fleet, duty, tuple(within), policy))
    if len(bands) == 1:
        return bands[0]
    day, low, likely, high = (
        np.concatenate([getattr(band, name) for band in bands]) for name in ("days", "low", "likely", "high")
    )
    return Band(bands[-1].name, bands[-1].unit, day, low, likely, high, bands[-1].levels)


def _band(fleet: Fleet, duty: str, days: tuple[float, ...], policy: Policy) -> Band:
    band_of = BY_NAME[duty].band
    if band_of is None:
        raise ValueError(f"{duty} has no curve")
    return band_of(fleet, np.array(days), policy)
