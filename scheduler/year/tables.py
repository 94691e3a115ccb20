"""Rows added to a fleet's tables of events; the fleet itself is never changed in place."""

from dataclasses import replace
from typing import TypeVar

import numpy as np

from scheduler.duties.conditions import READING_KINDS, Charges, Fleet, Floats, FuelEvents, Ints, Readings

FLAT_C = 20.0  # pressures are written down as at 20 °C

Table = TypeVar("Table", Charges, FuelEvents, Readings)


def add_charges(fleet: Fleet, rows: Ints, day: Floats, until: Floats) -> Fleet:
    """Completed charges (``until == day``) or spells on a maintainer (``until`` NaN), (k,) each."""
    new = Charges(rows, day, until, np.ones(rows.size, bool))
    return replace(fleet, charges=_joined(fleet.charges, new))


def add_fuel(
    fleet: Fleet, rows: Ints, day: Floats, kind: int, litres: Floats, share: Floats | None = None
) -> Fleet:
    """Fuel events of one kind, (k,) each; the share of ethanol or FAME is the grade's own where not given."""
    blend = np.full(rows.size, np.nan) if share is None else share
    new = FuelEvents(rows, day, np.full(rows.size, kind), litres, blend, np.full(rows.size, np.nan))
    return replace(fleet, fuel_events=_joined(fleet.fuel_events, new))


def add_pressures(fleet: Fleet, rows: Ints, day: Floats, kpa: Floats, where: Ints) -> Fleet:
    """Gauge pressures at 20 °C that tyres were set to, by place on the car (-1: all round), (k,) each."""
    kind = np.full(rows.size, READING_KINDS.index("tyre_pressure_set"))
    none = np.full(rows.size, np.nan)
    new = Readings(rows, day, kind, kpa, np.full(rows.size, FLAT_C), none, where)
    return replace(fleet, readings=_joined(fleet.readings, new))


def _joined(old: Table, new: Table) -> Table:
    parts = {name: np.concatenate([column, getattr(new, name)]) for name, column in vars(old).items()}
    return type(old)(**parts)
