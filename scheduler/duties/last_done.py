"""When each duty was last done at each car by its record: what an own interval counts from."""

import numpy as np

from scheduler.duties.conditions import FLUIDS, FUEL_EVENTS, READING_KINDS, Bools, Fleet, Floats, Ints
from scheduler.vocabulary.duties import Duty

# of a duty of the fuel, by what it leaves in the tank: the event that says that it was done
FUEL_EVENT = {"dosed": "stabilised", "filled": "filled"}


def last_done(fleet: Fleet, duty: Duty) -> Floats:
    """The last day on which the duty was done, ordinals (n,); NaN where the record does not say.

    Whatever ends the need counts: a drive warms an engine and moves tyres off their spots.
    """
    if duty.fluid:
        return fleet.fluid_changed[:, FLUIDS.index(duty.fluid)]
    if duty.work.warms:
        return np.fmax(fleet.last_full_warm, fleet.last_road_use)
    if duty.work.by_moving:
        return np.fmax(fleet.last_moved, fleet.last_road_use)
    if duty.effect == "charged":
        charges = fleet.charges
        return _latest(fleet, charges.row, np.fmax(charges.day, charges.until), charges.completed)
    if duty.effect in FUEL_EVENT:
        events = fleet.fuel_events
        return _latest(
            fleet, events.row, events.day, events.kind == FUEL_EVENTS.index(FUEL_EVENT[duty.effect])
        )
    if duty.measured_by:
        kinds = [READING_KINDS.index(quantity) for quantity in duty.measured_by]
        return _latest(fleet, fleet.readings.row, fleet.readings.day, np.isin(fleet.readings.kind, kinds))
    return np.where(np.isnan(fleet.last_inspected), fleet.last_attended, fleet.last_inspected)


def _latest(fleet: Fleet, row: Ints, day: Floats, counts: Bools) -> Floats:
    """The latest of the days that count in each row (n,), NaN where none does."""
    latest = np.full(len(fleet), -np.inf)
    np.maximum.at(latest, row[counts], day[counts])
    return np.where(np.isfinite(latest), latest, np.nan)
