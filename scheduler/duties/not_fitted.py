"""A fluid that a car is built without: air-cooled engines, cable brakes, a gearbox in the sump.

Its duty has no dates and says so, whatever the fluid; for the other cars it is as it was.
"""

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from scheduler.duties.conditions import FLUIDS, UNKNOWN, Bools, Fleet
from scheduler.duties.policy import Policy
from scheduler.duties.windows import NOT_HELD, Day, DutyWindow, Explanation, Input, Source
from scheduler.physics.fluids.fluids import FLUID_KINDS

NONE_FITTED = "the car has none"
_ABSENT = np.array([*(not kind.fitted for kind in FLUID_KINDS), False])  # the last for UNKNOWN, -1


def lacks(fleet: Fleet, fluid: str) -> Bools:
    """Cars recorded as built without the fluid, shape (n,)."""
    return np.asarray(_ABSENT[fleet.fluid_type[:, FLUIDS.index(fluid)]])


def window_where_fitted(
    fluid: str, window: Callable[[Fleet, Day, Policy], DutyWindow]
) -> Callable[[Fleet, Day, Policy], DutyWindow]:
    """The fluid's window, without dates for cars that lack it."""

    def windows(fleet: Fleet, today: Day, policy: Policy) -> DutyWindow:
        absent = lacks(fleet, fluid)
        made = window(_as_unknown(fleet, fluid, absent), today, policy)
        early, due, late = (np.where(absent, np.nan, day) for day in (made.early, made.due, made.late))
        return DutyWindow(
            early,
            due,
            late,
            (*made.limits, NONE_FITTED),
            np.where(absent, len(made.limits), made.limit),
            made.holds,
            np.where(absent, NOT_HELD, made.hold),
            made.assumed & ~absent,
        )

    return windows


def reason_where_fitted(
    fluid: str, explain: Callable[[Fleet, float, Policy], Explanation]
) -> Callable[[Fleet, float, Policy], Explanation]:
    """The fluid's reason for one car, or that the car has none."""

    def reason(fleet: Fleet, today: float, policy: Policy) -> Explanation:
        if not lacks(fleet, fluid)[0]:
            return explain(fleet, today, policy)
        kind = FLUID_KINDS[int(fleet.fluid_type[0, FLUIDS.index(fluid)])]
        words = fluid.replace("_", " ")
        return Explanation(
            f"This car has no {words} to change: {kind.label.removeprefix('none').lstrip(' :')}.",
            (Input(words, kind.label, "", "record"),),
            (),
            (Source("the car's own record", "record"),),
        )

    return reason


def _as_unknown(fleet: Fleet, fluid: str, absent: Bools) -> Fleet:
    """The fleet with the absent fluid's kind unknown, so that its own rules need not know of absence."""
    if not absent.any():
        return fleet
    kinds = fleet.fluid_type.copy()
    kinds[absent, FLUIDS.index(fluid)] = UNKNOWN
    return replace(fleet, fluid_type=kinds)
