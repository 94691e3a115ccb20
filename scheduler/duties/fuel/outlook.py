"""What is in each tank and when each limit is reached: one answer that three duties share."""

import weakref
from dataclasses import dataclass

import numpy as np

from scheduler.duties.conditions import Fleet, Floats
from scheduler.duties.fuel.events import fuel_now
from scheduler.duties.fuel.limits import limit_days
from scheduler.duties.fuel.state import FuelNow
from scheduler.duties.policy import Policy
from scheduler.duties.windows import Day


@dataclass(frozen=True)
class FuelOutlook:
    """The fuel of n cars, and ``days`` (limits, 3, n) on which each limit is reached."""

    now: FuelNow
    days: Floats


@dataclass(frozen=True)
class _Answer:
    fleet: "weakref.ref[Fleet]"
    today: Day
    policy: Policy
    outlook: FuelOutlook


# The last answer, so that the duties of one forecast do not each work it out anew. A fleet is never
# changed once made, so the same object means the same answer; the memory ends with the fleet.
_last: list[_Answer] = []


def fuel_outlook(fleet: Fleet, today: Day, policy: Policy) -> FuelOutlook:
    """The outlook of a fleet's fuel on ``today``."""
    for answer in tuple(_last):
        same_day = np.array_equal(answer.today, today)
        if answer.fleet() is fleet and same_day and answer.policy == policy:
            return answer.outlook
    now = fuel_now(fleet, today, policy)
    outlook = FuelOutlook(now, limit_days(now))
    kept = weakref.ref(fleet, lambda gone: _forget(gone))
    _last[:] = [_Answer(kept, today, policy, outlook)]
    return outlook


def _forget(gone: "weakref.ref[Fleet]") -> None:
    _last[:] = [answer for answer in _last if answer.fleet is not gone]
