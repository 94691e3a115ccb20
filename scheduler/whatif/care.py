"""What each duty, once done, writes into the record: the same lines that the care log would.

Whoever does anything at a car has attended it. A run-up is a drive: it moves the car too.
"""

from dataclasses import replace

import numpy as np

from scheduler.conditions import FLUIDS, UNKNOWN, Bools, Fleet, Floats, Ints
from scheduler.constants import Constant, Standing
from scheduler.decay.tyres import pressure_after_kpa
from scheduler.plan.tyre_leaks import LIKELY, PUMPED_SHARE
from scheduler.plan.tyre_pressure import course
from scheduler.whatif.changes import Practice, dosed, filled
from scheduler.whatif.tables import add_charges, add_pressures

REFILL_GLYCOL = Constant(0.50, "1", "half and half with water by volume", Standing.COMMON_PRACTICE)


def care(fleet: Fleet, done: dict[str, Ints], came: Ints, day: Floats, practice: Practice) -> Fleet:
    """The fleet after visits to cars ``came`` on ``day`` (n,); ``done`` names the rows of each duty."""
    fleet = _times(fleet, done, came, day)
    fleet = _fluids(fleet, done, day)
    for duty, write in _WRITES.items():
        rows = done[duty]
        if rows.size:
            fleet = write(fleet, rows, day[rows], practice)
    return fleet


def _times(fleet: Fleet, done: dict[str, Ints], came: Ints, day: Floats) -> Fleet:
    runs = done["run_up"]
    return replace(
        fleet,
        last_attended=_set(fleet.last_attended, came, day),
        last_inspected=_set(fleet.last_inspected, done["inspection"], day),
        last_engine_run=_set(fleet.last_engine_run, runs, day),
        last_full_warm=_set(fleet.last_full_warm, runs, day),
        last_road_use=_set(fleet.last_road_use, runs, day),
        last_moved=_set(fleet.last_moved, np.concatenate([runs, done["tyre_move"]]), day),
    )


def _set(column: Floats, rows: Ints, day: Floats) -> Floats:
    fresh = column.copy()
    fresh[rows] = day[rows]
    return fresh


def _fluids(fleet: Fleet, done: dict[str, Ints], day: Floats) -> Fleet:
    changed, share = fleet.fluid_changed.copy(), fleet.coolant_share.copy()
    for index, fluid in enumerate(FLUIDS):
        changed[done[fluid], index] = day[done[fluid]]
    share[done["coolant"]] = REFILL_GLYCOL.value
    return replace(fleet, fluid_changed=changed, coolant_share=share)


def _charge(fleet: Fleet, rows: Ints, day: Floats, _: Practice) -> Fleet:
    return add_charges(fleet, rows, day, day)


def _fuel_change(fleet: Fleet, rows: Ints, day: Floats, practice: Practice) -> Fleet:
    return filled(fleet, rows, day, practice)


def _stabiliser(fleet: Fleet, rows: Ints, day: Floats, _: Practice) -> Fleet:
    return dosed(fleet, rows, day)


def _tyre_pressure(fleet: Fleet, rows: Ints, day: Floats, _: Practice) -> Fleet:
    """Every tyre that is down by more than the noise of a gauge is brought to placard."""
    part = fleet.take(rows)
    tyres = course(part, float(day.max()))
    start = tyres.warm.spent(np.repeat(part.place, tyres.kpa.shape[1]), tyres.day.ravel())
    spent = np.maximum(tyres.warm.spent(part.place, day)[:, None] - start.reshape(tyres.day.shape), 0.0)
    kpa = pressure_after_kpa(tyres.kpa, tyres.leak[LIKELY], spent)
    low = _down(kpa, tyres.placard_kpa) | (np.isnan(kpa) & _first_only(kpa) & tyres.unread[:, None])
    car, where = np.nonzero(low)
    return add_pressures(fleet, rows[car], day[car], tyres.placard_kpa[car], where + UNKNOWN)


def _down(kpa: Floats, placard_kpa: Floats) -> Bools:
    return np.asarray(kpa * (1.0 + PUMPED_SHARE) < placard_kpa[:, None])


def _first_only(kpa: Floats) -> Bools:
    return np.asarray(np.arange(kpa.shape[1])[None, :] == 0)


_WRITES = {
    "charge": _charge,
    "fuel_change": _fuel_change,
    "stabiliser": _stabiliser,
    "tyre_pressure": _tyre_pressure,
}
