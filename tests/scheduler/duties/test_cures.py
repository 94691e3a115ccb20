"""Every limit names its cure: doing it clears the duty for the time that its row states."""

from datetime import date
from functools import cache

import numpy as np
import pytest

from scheduler.command.cars import Car
from scheduler.command.fleet import fleet_of
from scheduler.command.record import record_of
from scheduler.duties.battery.charge.now import battery_now
from scheduler.duties.battery.charge.signs import signs_of
from scheduler.duties.battery.charge.verdict import VERDICTS, verdicts
from scheduler.duties.policy import Policy
from scheduler.duties.table import BY_NAME
from scheduler.duties.windows import NOT_HELD
from scheduler.vocabulary.care import KIND
from scheduler.vocabulary.duties import DUTIES, DUTY
from scheduler.year.care import care
from scheduler.year.changes import Practice
from tests.scheduler.command.cars import some_cars

POLICY = Policy()
CARS = 150
SEASONS = [date(2026, 1, 15), date(2026, 4, 1), date(2026, 7, 1), date(2026, 10, 1), date(2026, 11, 10)]
# Nobody's charge lasts while these are to be done.
NO_CHARGE_LASTS = ("find_drain", "isolate", "maintain", "replace")
by_duty = pytest.mark.parametrize("row", DUTIES, ids=lambda row: row.code)


@cache
def fleet_on(on):
    return fleet_of([record_of(Car.model_validate(car), on) for car in some_cars(21, CARS)], on)


def verdict_words(fleet, today):
    now = battery_now(fleet, today, POLICY)
    signs = signs_of(fleet, now, today, POLICY)
    return np.array(VERDICTS)[verdicts(signs)]


def after(fleet, row, rows, today):
    """The fleet once the duty was done at some rows, as the log would have it."""
    done = {duty.code: np.empty(0, np.int64) for duty in DUTIES} | {row.code: rows}
    return care(fleet, done, rows, np.full(len(fleet), today), Practice())


@by_duty
@pytest.mark.parametrize("on", SEASONS, ids=str)
def test_doing_the_cure_clears_the_duty_for_the_time_of_its_row(row, on):
    fleet, today = fleet_on(on), float(on.toordinal())
    before = BY_NAME[row.code].window(fleet, today, POLICY)
    rows = np.flatnonzero((before.hold == NOT_HELD) & (before.due <= today))
    cared = after(fleet, row, rows, today)
    window = BY_NAME[row.code].window(cared, today, POLICY)
    asked = (window.hold == NOT_HELD) & (window.due <= today + row.clears_for_days)
    if row.system == "battery":
        asked &= ~np.isin(verdict_words(cared, today), NO_CHARGE_LASTS)
    assert not asked[rows].any(), [(int(at), window.due[at] - today) for at in rows[asked[rows]]]


@by_duty
def test_some_car_of_these_needs_each_duty(row):
    """Else the test above would say nothing of it."""
    due = 0
    for on in SEASONS:
        window = BY_NAME[row.code].window(fleet_on(on), float(on.toordinal()), POLICY)
        due += int(((window.hold == NOT_HELD) & (window.due <= on.toordinal())).sum())
    assert due > 0


@by_duty
def test_a_duty_names_kinds_of_care_that_end_it_and_the_harm_of_waiting(row):
    assert row.cure
    assert set(row.cure) <= set(KIND)
    assert row.answered_by[0].care in row.cure
    assert row.harm.endswith(".")
    assert row.clears_for_days >= {"charge": 14, "tyre_pressure": 14, "inspection": 5}.get(row.code, 14)


def test_a_fluid_is_cleared_for_half_the_shortest_interval_that_it_has():
    months = 365.2425 / 12
    shortest = {
        "engine_oil": POLICY.engine_oil_standby_months * POLICY.damp_oil_factor,
        "gearbox_oil": POLICY.gear_oil_months * POLICY.damp_oil_factor,
        "axle_oil": POLICY.gear_oil_months * POLICY.damp_oil_factor,
        "brake_fluid": POLICY.brake_fluid_months,
        "coolant": 6.0,  # water with inhibitor alone
    }
    assert set(shortest) == {row.fluid for row in DUTIES if row.fluid}
    for code, least in shortest.items():
        assert DUTY[code].clears_for_days == int(least * months / 2)
