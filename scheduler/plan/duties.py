"""All the duties, in one table; one entry a duty, each computed for the whole fleet at once."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from scheduler.conditions import Fleet
from scheduler.plan import (
    brake_fluid,
    charge,
    coolant,
    fuel_change,
    inspection,
    oils,
    run_up,
    run_up_reasons,
    stabiliser,
    tyre_move,
    tyre_pressure,
)
from scheduler.plan.not_fitted import reason_where_fitted, window_where_fitted
from scheduler.plan.policy import Policy
from scheduler.plan.windows import DutyWindow, Explanation, joined

Window = Callable[[Fleet, float, Policy], DutyWindow]
Reason = Callable[[Fleet, float, Policy], Explanation]

BLOCK = 50_000  # cars worked out at a time
MODELS_VERSION = 1  # raise it when any model changes: stored windows are then recomputed


@dataclass(frozen=True)
class Duty:
    """A kind of care: its name, its window for a fleet, and its reason for one car."""

    name: str
    window: Window
    explain: Reason


def _of_fluid(fluid: str, window: Window, explain: Reason) -> Duty:
    """The duty of a fluid that some cars are built without."""
    return Duty(fluid, window_where_fitted(fluid, window), reason_where_fitted(fluid, explain))


DUTIES: tuple[Duty, ...] = (
    Duty("charge", charge.window, charge.explain),
    Duty("run_up", run_up.window, run_up_reasons.explain),
    Duty("stabiliser", stabiliser.window, stabiliser.explain),
    Duty("fuel_change", fuel_change.window, fuel_change.explain),
    Duty("engine_oil", oils.engine_window, oils.engine_explain),
    _of_fluid("coolant", coolant.window, coolant.explain),
    _of_fluid("brake_fluid", brake_fluid.window, brake_fluid.explain),
    _of_fluid("gearbox_oil", oils.gearbox_window, oils.gearbox_explain),
    _of_fluid("axle_oil", oils.axle_window, oils.axle_explain),
    Duty("tyre_pressure", tyre_pressure.window, tyre_pressure.explain),
    Duty("tyre_move", tyre_move.window, tyre_move.explain),
    Duty("inspection", inspection.window, inspection.explain),
)


def forecast(fleet: Fleet, today: float, policy: Policy) -> dict[str, DutyWindow]:
    """Every duty's windows for every car of the fleet, by duty name.

    A large fleet is worked out in blocks, so that what lies between input and answer stays small.
    """
    if len(fleet) <= BLOCK:
        return {duty.name: duty.window(fleet, today, policy) for duty in DUTIES}
    starts = range(0, len(fleet), BLOCK)
    blocks = [
        forecast(fleet.take(np.arange(start, min(start + BLOCK, len(fleet)))), today, policy)
        for start in starts
    ]
    return {duty.name: joined([block.pop(duty.name) for block in blocks]) for duty in DUTIES}
