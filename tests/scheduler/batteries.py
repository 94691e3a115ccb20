"""Fleets of batteries for the tests: a known place, known cars, dates relative to one day."""

from dataclasses import replace
from datetime import date
from functools import cache

import numpy as np

from scheduler.duties.conditions import READING_KINDS, Charges, Readings
from scheduler.physics import climate
from scheduler.physics.battery.batteries import BATTERIES
from scheduler.physics.materials import position
from tests.scheduler.blank import blank

TODAY = float(date(2026, 11, 25).toordinal())
FIRST = date(2019, 1, 1).toordinal()
DAYS = date(2032, 1, 1).toordinal() - FIRST
MEAN = np.array([-2, -1, 3, 8, 13, 17, 19, 18, 14, 8, 3, -1], float)


@cache
def valley(warmer=0.0, shelter="covered", **changes):
    mean = MEAN + warmer
    return climate.from_normals(
        f"valley +{warmer}", shelter, mean, mean - 5, mean + 6, np.full(12, 80.0), FIRST, DAYS, **changes
    )


@cache
def steady(temp_c):
    """A place of one temperature the whole year."""
    flat = np.full(12, float(temp_c))
    return climate.from_normals("steady", "open", flat, flat, flat, np.full(12, 70.0), FIRST, DAYS)


def cars(n=1, place=None, chemistry="calcium", **columns):
    """``n`` cars with 12 V 60 Ah batteries, new, 20 mA; ``columns`` replace any."""
    usual = {
        "chemistry": position(BATTERIES, chemistry),
        "battery_volts": 12.0,
        "capacity_ah": 60.0,
        "battery_made": TODAY,
        "drain_a": 0.020,
    }
    fleet = blank(n, place or valley())
    given = {**usual, **columns}
    shaped = {
        name: np.full(n, value) if np.isscalar(value) else value
        for name, value in given.items()
        if name not in ("readings", "charges")
    }
    tables = {name: columns[name] for name in ("readings", "charges") if name in columns}
    return replace(fleet, **shaped, **tables)


def charged(*days, row=None, until=None, completed=True):
    """Completed charges on those days (spells where ``until`` differs)."""
    day = np.array(days, float)
    end = day if until is None else np.full(day.size, until, float)
    row = np.arange(day.size) if row is None else np.full(day.size, row)
    return Charges(row, day, end, np.full(day.size, completed))


def read(*readings, kind="rested_volts", rest=24.0):
    """Readings of car 0: (day, value) or (row, day, value); at 26.7 °C, well rested."""
    table = [r if len(r) == 3 else (0, *r) for r in readings]
    row, day, value = (np.array(column, float) for column in zip(*table, strict=True))
    same = np.ones(row.size)
    return Readings(
        row.astype(np.int64),
        day,
        np.full(row.size, READING_KINDS.index(kind)),
        value,
        26.7 * same,
        rest * same,
        np.full(row.size, -1),
    )
