"""The curve behind a duty, where there is one, for one car."""

from collections.abc import Callable, Iterable
from datetime import date

import numpy as np

from collection.bridge.gather import gather
from collection.bridge.store import policy_of
from collection.models import Vehicle
from scheduler.conditions import Fleet
from scheduler.plan import brake_fluid, charge, coolant, fuel_change
from scheduler.plan.policy import Policy
from scheduler.plan.windows import Band, Floats

BANDS: dict[str, Callable[[Fleet, Floats, Policy], Band]] = {
    "charge": charge.band,
    "fuel_change": fuel_change.band,
    "stabiliser": fuel_change.band,
    "coolant": coolant.band,
    "brake_fluid": brake_fluid.band,
}


def curves(vehicle: Vehicle, duties: Iterable[str], *, first: date, last: date, today: date) -> list[Band]:
    """The curves of those of the duties that have one, day by day from first to last.

    ValueError where the record does not allow the computation.
    """
    fleet = gather([vehicle.pk], today=today).fleet
    days = np.arange(first.toordinal(), last.toordinal() + 1, dtype=float)
    policy = policy_of(vehicle.organisation_id)
    return [BANDS[duty](fleet, days, policy) for duty in duties if duty in BANDS]
