"""The reason of every duty of one car at once."""

from datetime import date

from collection.bridge.gather import gather
from collection.bridge.store import policy_of
from collection.models import Vehicle
from scheduler.plan.duties import DUTIES
from scheduler.plan.windows import Explanation


def reasons(vehicle: Vehicle, *, today: date) -> dict[str, Explanation]:
    """Each duty's explanation by its name; ValueError where the record does not allow it."""
    fleet, policy = gather([vehicle.pk], today=today).fleet, policy_of(vehicle.organisation_id)
    return {duty.name: duty.explain(fleet, float(today.toordinal()), policy) for duty in DUTIES}
