"""What is only usual for a kind of car widens windows like what nobody knows, until somebody has looked."""

from dataclasses import replace

import numpy as np
import pytest

from scheduler.duties.battery.charge.state import known_state
from scheduler.duties.conditions import (
    FUEL_EVENTS,
    FUEL_SYSTEMS,
    READING_KINDS,
    REGIMES,
    UNKNOWN,
    VENTINGS,
    Charges,
    FuelEvents,
    Readings,
)
from scheduler.duties.policy import Policy
from scheduler.duties.table import forecast
from scheduler.physics.battery.batteries import BATTERIES
from scheduler.physics.fuel.fuels import CODES
from tests.scheduler.barn import TODAY, a_place
from tests.scheduler.blank import blank

CARS = 200
POLICY = Policy()


def silent_in_part(random, values, share=0.5):
    """Codes with some of them not recorded."""
    return np.where(random.random(CARS) < share, random.choice(values, CARS), UNKNOWN)


def often(random, values):
    return np.where(random.random(CARS) < 0.5, values, np.nan)


@pytest.fixture(scope="module")
def recorded():
    """Cars whose fuel system and volts are on record, and of what else some things are."""
    random = np.random.default_rng(16)
    row = np.flatnonzero(random.random(CARS) < 0.6)
    unsaid = np.full(row.size, np.nan)
    read = np.flatnonzero(random.random(CARS) < 0.3)
    charged = np.flatnonzero(random.random(CARS) < 0.6)
    charged_on = TODAY - random.integers(1, 60, charged.size).astype(float)
    volts = random.choice([6.0, 12.0, 24.0], CARS)
    fleet = blank(CARS, a_place())
    return replace(
        fleet,
        regime=random.choice([REGIMES.index("exercised"), REGIMES.index("preserved")], CARS),
        fuel_system=random.integers(0, len(FUEL_SYSTEMS), CARS),
        system_volts=volts,
        model_year=random.integers(1930, 2020, CARS).astype(float),
        last_road_use=TODAY - random.integers(1, 500, CARS),
        chemistry=silent_in_part(random, np.arange(len(BATTERIES))),
        capacity_ah=often(random, random.uniform(40, 110, CARS)),
        battery_volts=np.where(random.random(CARS) < 0.3, volts, np.nan),
        fuel=silent_in_part(random, [CODES["petrol_e5"], CODES["diesel_b7"]], 0.3),
        venting=silent_in_part(random, np.arange(len(VENTINGS))),
        tank_litres=often(random, random.uniform(30, 90, CARS)),
        fuel_events=FuelEvents(
            row=row,
            day=TODAY - random.integers(1, 300, row.size).astype(float),
            kind=np.full(row.size, FUEL_EVENTS.index("filled")),
            litres=unsaid,
            bio_share=unsaid,
            cfpp_c=unsaid,
        ),
        charges=Charges(charged, charged_on, charged_on, np.ones(charged.size, bool)),
        readings=Readings(
            row=read,
            day=TODAY - random.integers(1, 60, read.size).astype(float),
            kind=np.full(read.size, READING_KINDS.index("rested_volts")),
            value=random.uniform(12.2, 12.7, read.size) * volts[read] / 12.0,
            temperature_c=np.full(read.size, 15.0),
            rest_hours=np.full(read.size, 12.0),
            position=np.full(read.size, -1),
        ),
    )


def marked(fleet):
    yes = np.ones(len(fleet), bool)
    return replace(fleet, fuel_system_assumed=yes, system_volts_assumed=yes)


def ends(window):
    """First and last day; one that never comes, or has no known end, is never."""
    return np.nan_to_num(window.early, nan=np.inf), np.nan_to_num(window.late, nan=np.inf)


def test_no_window_is_narrower_for_a_value_that_is_only_assumed(recorded):
    known, assumed = forecast(recorded, TODAY, POLICY), forecast(marked(recorded), TODAY, POLICY)
    unread = ~np.isin(np.arange(CARS), recorded.readings.row)  # readings: see the next test
    wider = {}
    for duty, window in known.items():
        (early, late), (sooner, later) = ends(window), ends(assumed[duty])
        assert (sooner <= early)[unread].all(), duty
        assert (later >= late)[unread].all(), duty
        assert (assumed[duty].assumed >= window.assumed).all(), duty
        np.testing.assert_array_equal(assumed[duty].due[unread], window.due[unread], err_msg=duty)
        wider[duty] = int(((sooner < early) | (later > late))[unread].sum())
    assert wider["charge"] > 4  # a 6 V battery of no known size may be as small as one of 12 V
    assert wider["fuel_change"] > 4  # a diesel may be none


def test_readings_leave_the_rate_of_a_battery_less_sure_where_its_volts_are_assumed(recorded):
    """They may move its likely date: the less was known before, the more a reading teaches."""
    known, assumed = (known_state(one, TODAY, POLICY).learned for one in (recorded, marked(recorded)))
    sure, unsure = known.sd / known.mean, assumed.sd / assumed.mean
    assert (unsure >= sure - 1e-12).all()
    assert (unsure > sure + 1e-3).sum() > 4


def test_assumed_is_as_wide_as_unknown_with_the_same_likely_value(recorded):
    likely = replace(
        recorded,
        fuel_system=np.full(CARS, FUEL_SYSTEMS.index("carburettor")),
        system_volts=np.full(CARS, 12.0),
        battery_volts=np.full(CARS, np.nan),
    )
    unknown = replace(likely, fuel_system=np.full(CARS, UNKNOWN), system_volts=np.full(CARS, np.nan))
    assumed, silent = forecast(marked(likely), TODAY, POLICY), forecast(unknown, TODAY, POLICY)
    for duty, window in silent.items():
        for name in ("early", "due", "late"):
            np.testing.assert_array_equal(getattr(assumed[duty], name), getattr(window, name), err_msg=duty)


def test_a_recorded_battery_makes_the_volts_of_the_car_no_matter(recorded):
    sure = replace(recorded, battery_volts=recorded.system_volts)
    volts_assumed = replace(sure, system_volts_assumed=np.ones(CARS, bool))
    known, assumed = forecast(sure, TODAY, POLICY)["charge"], forecast(volts_assumed, TODAY, POLICY)["charge"]
    np.testing.assert_array_equal(assumed.early, known.early)
    np.testing.assert_array_equal(assumed.late, known.late)
