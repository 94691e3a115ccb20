"""Windows as they were on past days: what was known of a car then, by the models of now.

The care log is read up to that day; the rest of the record is taken as it stands today.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from collection.life.gather import gather_days
from collection.life.memoised import memoised
from collection.life.store import as_date, policy_of
from collection.models import Shelter, Vehicle
from scheduler.duties.conditions import Fleet
from scheduler.duties.policy import Policy
from scheduler.duties.table import BY_NAME
from scheduler.duties.windows import NOT_HELD


@dataclass(frozen=True)
class Then:
    """A duty's window as a past day saw it."""

    duty: str
    on: date
    due: date | None
    late: date | None
    held: bool


def windows_then(vehicle: Vehicle, asked: Sequence[tuple[str, date]]) -> list[Then]:
    """The window of each duty asked for on its day; ValueError where the record does not allow it."""
    if not asked:
        return []
    policy = policy_of(vehicle.organisation_id)
    fleet = gather_days(vehicle.pk, [day for _, day in asked]).fleet
    return list(memoised(_all_then, fleet, tuple(asked), policy))


def _all_then(fleet: Fleet, asked: Sequence[tuple[str, date]], policy: Policy) -> tuple[Then, ...]:
    return tuple(_then(fleet.take([row]), duty, day, policy) for row, (duty, day) in enumerate(asked))


def _then(fleet: Fleet, duty: str, day: date, policy: Policy) -> Then:
    window = BY_NAME[duty].window(fleet, float(day.toordinal()), policy)
    held = bool(window.hold[0] != NOT_HELD)
    return Then(duty, day, as_date(window.due[0]), as_date(window.late[0]), held)


def walk_round_days(vehicle: Vehicle) -> float:
    """The longest that a car where this one stands may go unseen, by the organisation's thresholds."""
    policy = policy_of(vehicle.organisation_id)
    in_the_open = vehicle.bay is not None and vehicle.bay.building.shelter == Shelter.OPEN
    return policy.inspect_open_days if in_the_open else policy.inspect_covered_days
