"""Places and cars for the tests of fuel and running: fixed values, nothing random."""

from dataclasses import replace
from datetime import date

import numpy as np

from scheduler.duties.conditions import FUEL_EVENTS, FUEL_SYSTEMS, REGIMES, VENTINGS, FuelEvents
from scheduler.physics.climate import from_normals
from scheduler.physics.fuel.fuels import CODES
from tests.scheduler.blank import blank

TODAY = float(date(2026, 11, 25).toordinal())
FIRST_DAY, DAYS = date(2016, 1, 1).toordinal(), 16 * 365
VALLEY_C = np.array([-2, -1, 3, 8, 13, 16, 18, 17, 13, 8, 3, -1], float)
VALLEY_RH = np.array([86, 83, 78, 72, 71, 72, 72, 75, 80, 84, 87, 88], float)


def valley(shelter="enclosed", warmer_k=0.0, rh_pct=VALLEY_RH, swing_k=9.0):
    """The invented valley: a real winter; every month ``warmer_k`` warmer if asked."""
    mean = VALLEY_C + warmer_k
    return from_normals(
        shelter, shelter, mean, mean - swing_k / 2, mean + swing_k / 2, rh_pct, FIRST_DAY, DAYS
    )


def steady(temp_c, rh_pct=60.0, shelter="enclosed", swing_k=0.0):
    """A place at one temperature all year."""
    level = np.full(12, float(temp_c))
    low, high = level - swing_k / 2, level + swing_k / 2
    return from_normals("steady", shelter, level, low, high, np.full(12, rh_pct), FIRST_DAY, DAYS)


def events(*each):
    """Fuel events of one car: (days before today, kind, litres, bio share), or (…, CFPP in °C)."""
    each = [(*one, np.nan)[:5] for one in each]
    day, kind, litres, bio, cfpp = zip(*each, strict=True) if each else ((),) * 5
    kinds = np.array([FUEL_EVENTS.index(name) for name in kind], np.int64)
    n = len(day)
    ago, litres, bio, cfpp = (np.array(column, float) for column in (day, litres, bio, cfpp))
    return FuelEvents(np.zeros(n, np.int64), TODAY - ago, kinds, litres, bio, cfpp)


def car(
    place,
    fuel="petrol_e5",
    venting="sealed",
    tank=60.0,
    system="electronic_injection",
    *,
    fuel_events=(),
    **columns,
):
    """A fleet of one exercised car with extraction at its bay, last run fully warm ten days ago."""
    given = {
        "fuel": np.array([CODES[fuel] if fuel else -1]),
        "venting": np.array([VENTINGS.index(venting) if venting else -1]),
        "tank_litres": np.array([tank]),
        "fuel_system": np.array([FUEL_SYSTEMS.index(system) if system else -1]),
        "regime": np.array([REGIMES.index("exercised")]),
        "extraction": np.array([True]),
        "last_full_warm": np.array([TODAY - 10.0]),
        "fuel_events": events(*fuel_events),
    }
    return replace(blank(1, place), **(given | columns))


def together(*cars):
    """Fleets of one joined into one fleet, each with its own place and events."""
    merged = {}
    for name, column in vars(cars[0]).items():
        if isinstance(column, np.ndarray):
            merged[name] = np.concatenate([getattr(one, name) for one in cars])
    merged["place"] = np.arange(len(cars))
    tables = [one.fuel_events for one in cars]
    rows = np.concatenate([np.full(len(table.day), row) for row, table in enumerate(tables)]).astype(np.int64)
    joined = {name: np.concatenate([getattr(t, name) for t in tables]) for name in vars(tables[0])}
    merged["fuel_events"] = FuelEvents(**joined | {"row": rows})
    return replace(cars[0], places=tuple(one.places[0] for one in cars), **merged)
