"""The reasons of one car's duties, in full; nothing is stored."""

from datetime import date

from collection.bridge.gather import gather
from collection.bridge.store import policy_of
from collection.models import Vehicle
from scheduler.plan.duties import DUTIES
from scheduler.plan.windows import Explanation

_DUTIES = {duty.name: duty for duty in DUTIES}


def explain(vehicle: Vehicle, duty: str, *, today: date) -> Explanation:
    """Why one duty falls due when it does; KeyError for a duty that is not ours."""
    fleet, policy = gather([vehicle.pk], today=today).fleet, policy_of(vehicle.organisation_id)
    return _DUTIES[duty].explain(fleet, float(today.toordinal()), policy)


LEARNING = ("charge", "tyre_pressure")  # the duties whose rates a car's own readings teach


def learned(vehicle: Vehicle, *, today: date) -> dict[str, tuple[str, ...]]:
    """By duty: the rate assumed, the rate learned from this car, how many readings taught it."""
    return {duty: explain(vehicle, duty, today=today).learning for duty in LEARNING}


def reasons(vehicle: Vehicle, *, today: date) -> dict[str, Explanation]:
    """Each duty's explanation by its name; ValueError where the record does not allow it."""
    fleet, policy = gather([vehicle.pk], today=today).fleet, policy_of(vehicle.organisation_id)
    return {duty.name: duty.explain(fleet, float(today.toordinal()), policy) for duty in DUTIES}
