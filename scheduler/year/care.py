"""What each duty, once done, writes into the record: the same lines that the care log would.

Whoever does anything at a car has attended it. A run-up is a drive: it moves the car too.
"""

from dataclasses import replace
from typing import Any

import numpy as np

from scheduler.duties.conditions import FLUIDS, UNKNOWN, Bools, Fleet, Floats, Ints
from scheduler.duties.tyres.course import course
from scheduler.duties.tyres.leaks import LIKELY, PUMPED_SHARE
from scheduler.physics.tyres.pressure import pressure_after_kpa
from scheduler.vocabulary.care import KIND
from scheduler.vocabulary.constants import Constant, Standing
from scheduler.vocabulary.duties import DUTIES
from scheduler.vocabulary.fluids import FLUID
from scheduler.year.changes import Practice, dosed, filled
from scheduler.year.tables import add_charges, add_pressures

IN_ORDER = sorted(DUTIES, key=lambda duty: duty.work.rank)  # fresh fuel before it is stabilised
REFILL_GLYCOL = Constant(0.50, "1", "half and half with water by volume", Standing.COMMON_PRACTICE)


def care(fleet: Fleet, done: dict[str, Ints], came: Ints, day: Floats, practice: Practice) -> Fleet:
    """The fleet after visits to cars ``came`` on ``day`` (n,); ``done`` names the rows of each duty."""
    fleet = _times(fleet, done, came, day)
    fleet = _fluids(fleet, done, day)
    for duty in IN_ORDER:
        rows = done[duty.code]
        if duty.effect and rows.size:
            fleet = _EFFECTS[duty.effect](fleet, rows, day[rows], practice)
    return fleet


def _times(fleet: Fleet, done: dict[str, Ints], came: Ints, day: Floats) -> Fleet:
    """The last times that the care of each duty moves, done as it should be."""
    columns: dict[str, Any] = {"last_attended": _set(fleet.last_attended, came, day)}
    for duty in DUTIES:
        for event in KIND[duty.answered_by[0].care].events:
            name = f"last_{event.name}"
            columns[name] = _set(columns.get(name, getattr(fleet, name)), done[duty.code], day)
    return replace(fleet, **columns)


def _set(column: Floats, rows: Ints, day: Floats) -> Floats:
    fresh = column.copy()
    fresh[rows] = day[rows]
    return fresh


def _fluids(fleet: Fleet, done: dict[str, Ints], day: Floats) -> Fleet:
    changed, share = fleet.fluid_changed.copy(), fleet.coolant_share.copy()
    for duty in DUTIES:
        if duty.fluid:
            rows = done[duty.code]
            changed[rows, FLUIDS.index(duty.fluid)] = day[rows]
            if FLUID[duty.fluid].takes_glycol:
                share[rows] = REFILL_GLYCOL.value
    return replace(fleet, fluid_changed=changed, coolant_share=share)


def _charge(fleet: Fleet, rows: Ints, day: Floats, _: Practice) -> Fleet:
    return add_charges(fleet, rows, day, day)


def _fuel_change(fleet: Fleet, rows: Ints, day: Floats, practice: Practice) -> Fleet:
    return filled(fleet, rows, day, practice)


def _stabiliser(fleet: Fleet, rows: Ints, day: Floats, _: Practice) -> Fleet:
    return dosed(fleet, rows, day)


def _tyre_pressure(fleet: Fleet, rows: Ints, day: Floats, _: Practice) -> Fleet:
    """Every tyre that is down by more than the noise of a gauge is brought to placard; one unread is read."""
    part = fleet.take(rows)
    tyres = course(part, float(day.max()))
    line = tyres.line
    start = tyres.warm.spent(np.repeat(part.place, line.kpa.shape[1]), line.day.ravel())
    spent = np.maximum(tyres.warm.spent(part.place, day)[:, None] - start.reshape(line.day.shape), 0.0)
    kpa = pressure_after_kpa(line.kpa, line.leak[LIKELY], spent)
    low = _down(kpa, tyres.placard_kpa) | (_first_only(kpa) & tyres.unread[:, None])
    car, where = np.nonzero(low)
    return add_pressures(fleet, rows[car], day[car], tyres.placard_kpa[car], where + UNKNOWN)


def _down(kpa: Floats, placard_kpa: Floats) -> Bools:
    return np.asarray(kpa * (1.0 + PUMPED_SHARE) < placard_kpa[:, None])


def _first_only(kpa: Floats) -> Bools:
    return np.asarray(np.arange(kpa.shape[1])[None, :] == 0)


_EFFECTS = {"charged": _charge, "filled": _fuel_change, "dosed": _stabiliser, "inflated": _tyre_pressure}
