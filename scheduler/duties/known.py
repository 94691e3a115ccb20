"""Which duties of a car the record says anything of: without it a date would count from nothing.

A duty is known by what was measured for it, or by the last time that resets it. Where neither is on
record its window rests on assumptions alone, and is no reason to act before somebody has looked.
"""

from collections.abc import Mapping

import numpy as np

from scheduler.duties.conditions import FLUIDS, READING_KINDS, Bools, Fleet
from scheduler.duties.own_rules import NOT_BEFORE
from scheduler.duties.windows import DutyWindow
from scheduler.vocabulary.duties import DUTIES, Duty


def unknown(fleet: Fleet, windows: Mapping[str, DutyWindow]) -> dict[str, Bools]:
    """By duty: the cars (n,) whose window has a date that nothing on record bears.

    Not those whose keeper set the day before which it is not asked for: that day is known.
    """
    return {duty.code: ~known(fleet, duty) & _dates(windows[duty.code]) for duty in DUTIES}


def _dates(window: DutyWindow) -> Bools:
    """The cars (n,) with a likely day that is not one that was set for it."""
    return np.asarray(np.isfinite(window.due) & (window.limit != window.limits.index(NOT_BEFORE)))


def known(fleet: Fleet, duty: Duty) -> Bools:
    """The cars (n,) of which the record tells when this duty was last answered, or how it stands.

    The look at the whole car is unknown only where everything else is: then the car is to be looked over.
    """
    if duty.seen_on_any_visit:
        others = [known(fleet, each) for each in DUTIES if not each.seen_on_any_visit]
        return np.asarray(_dated(fleet, duty) | np.any(others, axis=0))
    return np.asarray(_measured(fleet, duty) | _dated(fleet, duty))


def _measured(fleet: Fleet, duty: Duty) -> Bools:
    kinds = [READING_KINDS.index(quantity) for quantity in duty.measured_by]
    return np.isin(np.arange(len(fleet)), fleet.readings.row[np.isin(fleet.readings.kind, kinds)])


def _dated(fleet: Fleet, duty: Duty) -> Bools:
    rows = np.arange(len(fleet))
    warmed = ~np.isnan(np.fmax(fleet.last_full_warm, fleet.last_road_use))
    rolled = ~np.isnan(np.fmax(fleet.last_moved, fleet.last_road_use))
    if duty.fluid:
        looked = fleet.looks.row[fleet.looks.fluid == FLUIDS.index(duty.fluid)]
        return ~np.isnan(fleet.fluid_changed[:, FLUIDS.index(duty.fluid)]) | np.isin(rows, looked)
    if duty.work.warms:
        return warmed
    if duty.work.by_moving:
        return rolled | fleet.on_stands
    if duty.record == "battery":
        return np.isin(rows, fleet.charges.row) | fleet.on_maintainer | warmed
    if duty.record == "fuel":
        return np.isin(rows, fleet.fuel_events.row)
    if duty.record == "tyres":
        return np.zeros(len(fleet), bool)  # by a gauge alone
    return ~np.isnan(np.fmax(fleet.last_inspected, fleet.last_attended))
