"""The fleet's answer is each car's own answer, whatever stands beside it; windows keep their order."""

from dataclasses import replace

import numpy as np
import pytest

from scheduler.duties.brakes import brake_fluid
from scheduler.duties.car import inspection
from scheduler.duties.conditions import (
    FLUIDS,
    FUEL_EVENTS,
    QUANTITIES,
    READING_KINDS,
    REGIMES,
    Charges,
    FuelEvents,
    Readings,
)
from scheduler.duties.cooling import coolant
from scheduler.duties.driveline import axle_oil, gearbox_oil
from scheduler.duties.engine import engine_oil
from scheduler.duties.policy import Policy
from scheduler.duties.table import BY_NAME
from scheduler.duties.tyres import tyre_move, tyre_pressure
from scheduler.physics.fluids.fluids import FLUID_KINDS
from tests.scheduler.barn import TODAY, a_place, cars

CARS = 60
POLICY = Policy()
WINDOWS = {
    "engine_oil": engine_oil.window,
    "gearbox_oil": gearbox_oil.window,
    "axle_oil": axle_oil.window,
    "coolant": coolant.window,
    "brake_fluid": brake_fluid.window,
    "tyre_pressure": tyre_pressure.window,
    "tyre_move": tyre_move.window,
    "inspection": inspection.window,
}
EXPLAINS = [
    engine_oil.explain,
    axle_oil.explain,
    coolant.explain,
    brake_fluid.explain,
    tyre_pressure.explain,
    tyre_move.explain,
    inspection.explain,
]
SENSIBLE = {
    "rested_volts": (11.9, 12.8),
    "tyre_pressure": (120, 260),
    "brake_water": (0, 9),
    "coolant_freeze_point": (-50, 5),
}


def often(random, values, share=0.7):
    """Some values with others missing, as records are."""
    return np.where(random.random(len(values)) < share, values, np.nan)


def some_readings(random, n):
    m, kinds = 8 * n, [READING_KINDS.index(name) for name in SENSIBLE]
    kind = random.choice(kinds, m)
    low, high = (np.array([SENSIBLE.get(name, (0, 1))[end] for name in QUANTITIES]) for end in (0, 1))
    return Readings(
        random.integers(0, n, m),
        TODAY - random.integers(-20, 900, m).astype(float),
        kind,
        random.uniform(low[kind], high[kind]),
        often(random, random.uniform(-10, 30, m)),
        np.full(m, np.nan),
        random.integers(-1, 4, m),
    )


@pytest.fixture(scope="module")
def mixed():
    """Sixty cars at three places with scattered, partly silent records."""
    random = np.random.default_rng(7)
    days = {
        name: often(random, TODAY - random.integers(0, 1500, CARS).astype(float))
        for name in (
            "stored_since",
            "last_road_use",
            "last_engine_run",
            "last_full_warm",
            "last_moved",
            "last_attended",
            "last_inspected",
            "battery_installed",
            "tyre_made",
        )
    }
    kinds = [[-1, *(code for code, kind in enumerate(FLUID_KINDS) if kind.fluid == name)] for name in FLUIDS]
    plain = cars(
        CARS,
        **days,
        regime=random.integers(-1, len(REGIMES), CARS),
        on_stands=random.random(CARS) < 0.2,
        coolant_share=often(random, random.uniform(0, 0.8, CARS)),
        placard_kpa=often(random, random.uniform(160, 250, CARS)),
    )
    changed = [often(random, TODAY - random.integers(0, 2500, CARS).astype(float)) for _ in FLUIDS]
    return replace(
        plain,
        place=random.integers(0, 3, CARS),
        places=(a_place("open"), a_place(), a_place("heated")),
        fluid_type=np.array([random.choice(codes, CARS) for codes in kinds]).T,
        fluid_changed=np.array(changed).T,
        tags=random.random(plain.tags.shape) < 0.1,
        readings=some_readings(random, CARS),
    )


@pytest.mark.parametrize("duty", WINDOWS)
def test_each_car_alone_gets_the_dates_it_gets_in_the_fleet(mixed, duty):
    together = WINDOWS[duty](mixed, TODAY, POLICY)
    for row in range(CARS):
        alone = WINDOWS[duty](mixed.take([row]), TODAY, POLICY)
        for column in ("early", "due", "late", "limit", "hold", "assumed"):
            one, other = getattr(alone, column)[0], getattr(together, column)[row]
            np.testing.assert_allclose(one, other, atol=1e-6, err_msg=f"{row} {column}")


@pytest.mark.parametrize("duty", WINDOWS)
def test_every_window_is_in_order_and_names_a_limit(mixed, duty):
    window = WINDOWS[duty](mixed, TODAY, POLICY)
    dated = ~np.isnan(window.due)
    assert dated.any()
    assert (window.early[dated] <= window.due[dated] + 1e-9).all()
    assert not (window.late[dated] < window.due[dated] - 1e-9).any()
    assert ((window.limit >= 0) & (window.limit < len(window.limits))).all()
    assert ((window.hold >= -1) & (window.hold < max(len(window.holds), 1))).all()


def test_every_car_can_be_explained(mixed):
    for row in range(0, CARS, 3):
        for explain in EXPLAINS:
            reason = explain(mixed.take([row]), TODAY, POLICY)
            assert reason.summary
            assert "nan" not in reason.summary
            assert not any("nan" in step.worked for step in reason.steps)


@pytest.fixture(scope="module")
def with_events(mixed):
    """The same cars with charges, spells on a maintainer and fuel events."""
    random, m = np.random.default_rng(8), 3 * CARS
    day = TODAY - random.integers(0, 900, m).astype(float)
    until = np.where(random.random(m) < 0.2, day + random.integers(1, 90, m), day)
    row, poured = random.integers(0, CARS, m), TODAY - random.integers(0, 900, m).astype(float)
    in_order = np.lexsort((poured, row))
    return replace(
        mixed,
        chemistry=random.integers(-1, 3, CARS),
        charges=Charges(row, day, until, random.random(m) < 0.8),
        fuel_events=FuelEvents(
            row[in_order],
            poured[in_order],
            random.integers(0, len(FUEL_EVENTS), m),
            often(random, random.uniform(5, 40, m)),
            np.full(m, np.nan),
            np.full(m, np.nan),
        ),
    )


@pytest.mark.parametrize("duty", BY_NAME)
def test_rows_of_car_and_day_get_the_dates_that_each_car_gets_on_its_day(with_events, duty):
    random = np.random.default_rng(9)
    days = TODAY - random.integers(0, 700, CARS)
    together = BY_NAME[duty].window(with_events, days, POLICY)
    for row in range(0, CARS, 2):
        alone = BY_NAME[duty].window(with_events.take([row]), float(days[row]), POLICY)
        for column in ("early", "due", "late", "limit", "hold", "assumed"):
            one, other = getattr(alone, column)[0], getattr(together, column)[row]
            np.testing.assert_allclose(one, other, atol=1e-6, err_msg=f"{row} {column}")


def test_an_empty_fleet_has_empty_windows(mixed):
    for window in WINDOWS.values():
        assert len(window(mixed.take([]), TODAY, POLICY).due) == 0
