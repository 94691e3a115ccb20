"""Windows as they were on past days: what was known of a car then, by the models of now.

The care log is read up to that day; the rest of the record is taken as it stands today.
"""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from collection.bridge.gather import gather
from collection.bridge.store import as_date, policy_of
from collection.models import Shelter, Vehicle
from scheduler.plan.duties import DUTIES
from scheduler.plan.windows import NOT_HELD

_DUTIES = {duty.name: duty for duty in DUTIES}


@dataclass(frozen=True)
class Then:
    """A duty's window as a past day saw it."""

    duty: str
    on: date
    due: date | None
    late: date | None
    held: bool


def windows_then(vehicle: Vehicle, asked: Iterable[tuple[str, date]]) -> list[Then]:
    """The window of each duty asked for on its day; ValueError where the record does not allow it."""
    by_day = defaultdict(set)
    for duty, day in asked:
        by_day[day].add(duty)
    return [then for day, duties in sorted(by_day.items()) for then in _on(vehicle, day, sorted(duties))]


def _on(vehicle: Vehicle, day: date, duties: Iterable[str]) -> list[Then]:
    fleet, policy = gather([vehicle.pk], today=day).fleet, policy_of(vehicle.organisation_id)
    found = []
    for duty in duties:
        window = _DUTIES[duty].window(fleet, float(day.toordinal()), policy)
        held = bool(window.hold[0] != NOT_HELD)
        found.append(Then(duty, day, as_date(window.due[0]), as_date(window.late[0]), held))
    return found


def walk_round_days(vehicle: Vehicle) -> float:
    """The longest that a car where this one stands may go unseen, by the organisation's thresholds."""
    policy = policy_of(vehicle.organisation_id)
    in_the_open = vehicle.bay is not None and vehicle.bay.building.shelter == Shelter.OPEN
    return policy.inspect_open_days if in_the_open else policy.inspect_covered_days
