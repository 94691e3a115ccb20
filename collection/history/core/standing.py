"""How long a car stood, where evidence bounds it: the estimate of its recommissioning, not a second one."""

from datetime import date

from collection.models import Vehicle
from collection.recommission.core.standing import stands
from collection.recommission.queries import evidence_of
from scheduler.condition.outlook import stood_by


def days_by_evidence(vehicle: Vehicle, *, today: date) -> tuple[float, float | None] | None:
    """Shortest and longest days (None: unknown) since its last road use; None where there is no evidence.

    ValueError where the record forbids it.
    """
    rows = list(evidence_of(vehicle))
    if not rows:
        return None
    standing = stands(vehicle, rows, list(vehicle.last_uses.order_by("event")), today=today)
    stood = stood_by(standing.time, today, 0.0, frozenset())
    return stood.shortest_days, stood.longest_days
