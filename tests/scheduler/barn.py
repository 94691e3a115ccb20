"""A small invented barn for the tests of the duties: two places, a day, and cars with a few facts."""

from dataclasses import replace
from datetime import date
from functools import cache

import numpy as np

from scheduler.duties.conditions import FLUIDS, READING_KINDS, UNKNOWN, Readings
from scheduler.physics.climate import from_normals
from scheduler.physics.fluids.fluids import POSITION
from tests.scheduler.blank import blank

TODAY = float(date(2026, 11, 25).toordinal())
FIRST_DAY = date(1996, 1, 1).toordinal()
DAYS = 35 * 366
SWING_K = 5.0
MEAN_C = np.array([-2, -1, 3, 8, 13, 16, 18, 17, 13, 8, 3, -1], float)
RH_PCT = np.array([88, 85, 79, 72, 70, 69, 70, 73, 79, 84, 88, 89], float)


@cache
def a_place(shelter="enclosed", warmer_k=0.0, rh_pct=None):
    """The valley under one kind of roof; ``rh_pct`` for an even humidity all the year."""
    mean, rh = MEAN_C + warmer_k, RH_PCT if rh_pct is None else np.full(12, rh_pct)
    return from_normals("valley", shelter, mean, mean - SWING_K, mean + SWING_K, rh, FIRST_DAY, DAYS)


def cars(n=1, place=None, **columns):
    """``n`` cars at one place; fluids by name: ``coolant="eg_organic"``, ``coolant_changed=day``."""
    fleet = blank(n, place or a_place())
    kinds, changed, plain = fleet.fluid_type.copy(), fleet.fluid_changed.copy(), {}
    for name, value in columns.items():
        if name in FLUIDS:
            kinds[:, FLUIDS.index(name)] = [POSITION[kind] for kind in np.broadcast_to(value, n)]
        elif name.endswith("_changed"):
            changed[:, FLUIDS.index(name.removesuffix("_changed"))] = value
        elif name == "readings":
            plain[name] = value
        else:
            plain[name] = np.broadcast_to(np.asarray(value), getattr(fleet, name).shape).copy()
    return replace(fleet, fluid_type=kinds, fluid_changed=changed, **plain)


def readings(kind, *measured):
    """Readings of one kind: (row, day, value), (… , °C), or (… , °C, position)."""
    table = [(*reading, *(np.nan, UNKNOWN)[len(reading) - 3 :]) for reading in measured]
    row, day, value, at_c, position = (np.array(column) for column in zip(*table, strict=True))
    n = len(row)
    return Readings(
        row.astype(np.int64),
        day.astype(float),
        np.full(n, READING_KINDS.index(kind)),
        value.astype(float),
        at_c.astype(float),
        np.full(n, np.nan),
        position.astype(np.int64),
    )
