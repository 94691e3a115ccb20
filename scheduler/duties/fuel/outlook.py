"""What is in each tank and when each limit is reached: one answer that three duties share."""

from dataclasses import dataclass

from scheduler.duties.conditions import Fleet, Floats
from scheduler.duties.fuel.events import fuel_now
from scheduler.duties.fuel.limits import limit_days
from scheduler.duties.fuel.state import FuelNow
from scheduler.duties.once import once_a_fleet
from scheduler.duties.policy import Policy
from scheduler.duties.windows import Day


@dataclass(frozen=True)
class FuelOutlook:
    """The fuel of n cars, and ``days`` (limits, 3, n) on which each limit is reached."""

    now: FuelNow
    days: Floats


@once_a_fleet
def fuel_outlook(fleet: Fleet, today: Day, policy: Policy) -> FuelOutlook:
    """The outlook of a fleet's fuel on ``today``."""
    now = fuel_now(fleet, today, policy)
    return FuelOutlook(now, limit_days(now))
