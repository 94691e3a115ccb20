"""The recharge date holds in worlds that the core did not draw; a hidden drain is found and kept."""

import re
from dataclasses import replace

import numpy as np
import pytest

from scheduler.duties.battery.charge import explain, window
from scheduler.duties.battery.charge.state import known_state
from scheduler.duties.policy import Policy
from scheduler.physics.battery.batteries import BATTERIES
from scheduler.physics.battery.charge_state import rested_volts
from scheduler.physics.materials import position
from tests.scheduler.batteries import TODAY, cars, charged, read
from tests.scheduler.worlds.batteries import WORLDS, score

POLICY = Policy()
BY_NAME = {world.name: world for world in WORLDS}
RECORDED_A, TRUE_A, AH = 0.030, 0.150, 60.0
A_DAY = 24.0 * TRUE_A / AH
HARD = {
    "meters off": 1.1,
    "two strays in five": 0.85,
}  # bad readings teach little or nothing, and harm no date
CODE = position(BATTERIES, "calcium")


def spells(count, stray=None):
    """A battery that was recorded with 30 mA and is drawn on by 150, charged and read so many times over."""
    begins = [TODAY - 14.0 * (count - spell) for spell in range(count)]
    rows = [
        (day + after, float(rested_volts(1.0 - A_DAY * after, 26.7, CODE, 12.0)))
        for day in begins
        for after in (4.0, 9.0)
    ]
    if stray:
        rows[0] = (rows[0][0], stray)
    return cars(drain_a=RECORDED_A, charges=charged(*begins, row=0), readings=read(*rows))


@pytest.mark.parametrize("count", [1, 2, 5])
def test_a_hidden_drain_is_learned_within_two_spells_and_said(count):
    fleet = spells(count)
    state = known_state(fleet, TODAY, POLICY)
    assert state.drawn_on[0]
    assert state.pack.drain_a[1, 0] == pytest.approx(TRUE_A, rel=0.1)
    reason = explain(fleet, TODAY, POLICY)
    assert "Something draws on it: look for it." in reason.summary
    (amount,) = (
        drain for text in reason.assumptions for drain in re.findall(r"about (\d+) mA draw on it", text)
    )
    assert float(amount) == pytest.approx(1000 * TRUE_A, rel=0.1)


def test_it_stays_learned_through_the_next_charge():
    fleet = spells(2)
    again = replace(fleet, charges=charged(TODAY - 28, TODAY - 14, TODAY - 1, row=0))
    due = window(again, TODAY, POLICY).due[0]
    assert due - (TODAY - 1) == pytest.approx(0.25 / A_DAY, abs=1.0)
    assert "look for it" in explain(again, TODAY, POLICY).summary


def test_one_wild_reading_teaches_no_drain_and_hides_none():
    sound = cars(
        drain_a=RECORDED_A,
        charges=charged(TODAY - 30, row=0),
        readings=read((TODAY - 25, 12.58), (TODAY - 20, 11.95), (TODAY - 15, 12.50), (TODAY - 8, 12.42)),
    )
    assert not known_state(sound, TODAY, POLICY).drawn_on[0]
    assert known_state(spells(3, stray=12.64), TODAY, POLICY).drawn_on[0]


def test_nothing_draws_on_a_battery_that_is_isolated():
    fleet = replace(spells(3), isolated=np.array([True]))
    assert not known_state(fleet, TODAY, POLICY).drawn_on[0]


@pytest.mark.parametrize("name", BY_NAME)
def test_readings_bring_the_date_nearer_in_every_world(name):
    before, after = (score(BY_NAME[name], readings, 1000) for readings in (0, 5))
    assert after.error_days < HARD.get(name, 0.6) * before.error_days
    assert after.coverage > before.coverage - 0.1


@pytest.mark.parametrize("name", BY_NAME)
@pytest.mark.parametrize("readings", [3, 5])
def test_the_true_day_lies_within_the_dates_four_times_in_five(name, readings):
    assert score(BY_NAME[name], readings).coverage >= 0.80


def test_a_drain_is_found_where_there_is_one_and_hardly_where_there_is_none():
    assert score(BY_NAME["something draws on it"], 3).drawn_on > 0.95
    assert score(BY_NAME["as recorded"], 5).drawn_on < 0.05
