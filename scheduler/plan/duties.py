"""All the duties, in one table; one entry a duty, each computed for the whole fleet at once."""

from collections.abc import Callable
from dataclasses import dataclass


from scheduler.conditions import Fleet
from scheduler.plan.policy import Policy
from scheduler.plan.windows import DutyWindow, Explanation

MODELS_VERSION = 1  # raise it when any model changes: stored windows are then recomputed


@dataclass(frozen=True)
class Duty:
    """A kind of care: its name, its window for a fleet, and its reason for one car."""

    name: str
    window: Callable[[Fleet, float, Policy], DutyWindow]
    explain: Callable[[Fleet, float, Policy], Explanation]


DUTIES: tuple[Duty, ...] = ()


def forecast(fleet: Fleet, today: float, policy: Policy) -> dict[str, DutyWindow]:
    """Every duty's windows for every car of the fleet, by duty name."""
    return {duty.name: duty.window(fleet, today, policy) for duty in DUTIES}
