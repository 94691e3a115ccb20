"""A thousand batteries of known rates, read with a real meter's errors, through the whole duty."""

from dataclasses import replace

import numpy as np
import pytest

from scheduler.duties.battery.charge import window
from scheduler.duties.battery.charge.decline import day_of, lost, table_rates
from scheduler.duties.battery.charge.evidence import CHARGED_SOC, FULL_SD
from scheduler.duties.battery.charge.state import LEAST_PRIOR_SD, METER_SD, MODEL_SD, SHORT_SD, known_state
from scheduler.duties.learning import NINETY_PERCENT_SD
from scheduler.duties.policy import Policy
from scheduler.physics.battery.batteries import BATTERIES
from scheduler.physics.battery.charge_state import VOLTS_SD, rested_volts
from scheduler.physics.materials import position
from tests.scheduler.batteries import TODAY, cars, charged, read, valley

N, READINGS = 1000, 5
START, LAST = TODAY - 35, TODAY  # a reading a week
POLICY = Policy(recharge_soc=0.5)  # far enough off that the readings come before it
CALCIUM = position(BATTERIES, "calcium")


class World:
    """Batteries whose true rate is the table's times a multiplier that nobody sees."""

    def __init__(self):
        rng = np.random.default_rng(2026)
        unread = cars(N, valley(10.0), drain_a=np.nan, model_year=1995.0, charges=charged(*[START] * N))
        state = known_state(unread, TODAY, POLICY)
        sd = max(state.learned.range_sd[0], LEAST_PRIOR_SD)
        drawn = rng.normal(1.0, sd, 4 * N)
        self.truth = drawn[(drawn > 0.3) & (drawn < 2.2)][:N]
        self.full = CHARGED_SOC + rng.normal(0, np.hypot(FULL_SD, SHORT_SD), N)
        rates, row = table_rates(state.pack).case(1), np.arange(N)
        table, meter = [], rng.normal(0, METER_SD, N)
        for day in np.linspace(START, LAST, READINGS + 1)[1:]:
            gone = self.truth * lost(rates, state.air, row, np.full(N, START), np.full(N, day))
            soc = self.full - gone + rng.normal(0, MODEL_SD, N)
            volts = rested_volts(soc + meter, 26.7, CALCIUM, 12.0) + rng.normal(0, VOLTS_SD.value, N)
            table += zip(row, np.full(N, day), volts, strict=True)
        self.unread, self.read = unread, replace(unread, readings=read(*table))
        amount = (self.full - POLICY.recharge_soc) / self.truth
        self.due = day_of(rates, state.air, np.full(N, START), amount)


@pytest.fixture(scope="module")
def world():
    return World()


def test_the_ninety_percent_interval_of_the_rate_holds_the_truth(world):
    learned = known_state(world.read, TODAY, POLICY).learned
    held = np.abs(learned.mean - world.truth) <= NINETY_PERCENT_SD * learned.sd
    assert 0.85 <= held.mean() <= 0.95


def test_five_readings_halve_the_error_of_the_due_date(world):
    """Dates that have passed by the last reading all mean the same to the barn: now."""
    truth = np.maximum(world.due, LAST)
    assumed = np.abs(np.maximum(window(world.unread, TODAY, POLICY).due, LAST) - truth)
    learned = np.abs(np.maximum(window(world.read, TODAY, POLICY).due, LAST) - truth)
    assert learned.mean() <= 0.55 * assumed.mean()
    assert np.median(learned) <= np.median(assumed) / 2


def test_the_window_narrows_for_every_battery(world):
    def width(fleet):
        dates = window(fleet, TODAY, POLICY)
        return (dates.due - dates.early) / (dates.due - START)

    assert (width(world.read) < width(world.unread)).all()
