"""A battery's curve is its state: on the day itself, ahead of it, on a maintainer, after readings."""

import numpy as np
import pytest

from scheduler.duties.battery import charge
from scheduler.duties.battery.charge.now import battery_now
from scheduler.duties.conditions import Charges
from scheduler.duties.policy import Policy
from tests.scheduler.batteries import TODAY, cars, charged, read

POLICY = Policy()
ON = Charges(np.zeros(1, int), np.array([TODAY - 90]), np.array([np.nan]), np.ones(1, bool))
CARS = {
    "charged": {"charges": charged(TODAY - 120)},
    "charged, read": {
        "charges": charged(TODAY - 200),
        "readings": read((TODAY - 150, 12.55), (TODAY - 60, 12.40), (TODAY - 20, 12.33)),
    },
    "read": {"readings": read((TODAY - 150, 12.5), (TODAY - 20, 12.3))},
    "laid up, nothing read": {"stored_since": TODAY - 300, "last_road_use": TODAY - 310},
    "on a maintainer": {"charges": ON, "on_maintainer": True, "last_attended": TODAY - 12},
    "on a maintainer, never seen since": {"charges": ON, "on_maintainer": True},
    "isolated": {"charges": charged(TODAY - 120), "isolated": True},
}


@pytest.mark.parametrize("ahead", [0, 40, 200])
@pytest.mark.parametrize("name", CARS)
def test_the_curve_gives_the_state_of_its_day(name, ahead):
    fleet, day = cars(1, **CARS[name]), TODAY + ahead
    now = battery_now(fleet, day, POLICY)
    band = charge.band(fleet, np.array([TODAY - 10, TODAY, day]), POLICY)
    drawn = [band.low[-1], band.likely[-1], band.high[-1]]
    np.testing.assert_allclose(drawn, now.soc[:, 0], atol=1e-9)


def test_a_curve_is_the_same_whatever_days_are_asked_with_it():
    fleet = cars(1, **CARS["charged, read"])
    whole = charge.band(fleet, np.arange(TODAY - 250, TODAY + 100), POLICY)
    few = charge.band(fleet, np.array([TODAY - 100, TODAY, TODAY + 50]), POLICY)
    at = np.searchsorted(whole.days, few.days)
    for name in ("low", "likely", "high"):
        np.testing.assert_allclose(getattr(few, name), getattr(whole, name)[at], atol=1e-9)
