"""The same computation for one car, with its reasons and curves; nothing is stored."""

from collections.abc import Callable
from datetime import date

import numpy as np

from collection.bridge.gather import gather
from collection.bridge.store import policy_of
from collection.models import Vehicle
from scheduler.conditions import Fleet
from scheduler.plan import charge, coolant, fuel_change, tyre_pressure
from scheduler.plan.duties import DUTIES
from scheduler.plan.policy import Policy
from scheduler.plan.windows import Band, Explanation, Floats

_BANDS: tuple[Callable[[Fleet, Floats, Policy], Band], ...] = (
    charge.band,
    fuel_change.band,
    tyre_pressure.band,
    coolant.band,
)
_DUTIES = {duty.name: duty for duty in DUTIES}


def explain(vehicle: Vehicle, duty: str, *, today: date) -> Explanation:
    """Why the duty falls due when it does; KeyError for a duty that is not ours."""
    fleet = gather([vehicle.pk], today=today).fleet
    return _DUTIES[duty].explain(fleet, float(today.toordinal()), policy_of(vehicle.organisation_id))


def bands(vehicle: Vehicle, *, first: date, last: date, today: date) -> list[Band]:
    """The curves of a car, day by day from first to last."""
    fleet = gather([vehicle.pk], today=today).fleet
    days = np.arange(first.toordinal(), last.toordinal() + 1, dtype=float)
    policy = policy_of(vehicle.organisation_id)
    return [band(fleet, days, policy) for band in _BANDS]
