"""The whole-fleet answers are those of the plain one-car-one-day reference, to the day."""

import numpy as np
import pytest

from scheduler.duties.battery import charge
from scheduler.duties.fuel import fuel_change
from scheduler.duties.policy import Policy
from tests.bench.fleets import TODAY, fleet_of
from tests.bench.reference import charge_dates
from tests.bench.reference_fuel import fuel_dates

CARS = 36
POLICY = Policy()
DUTIES = {"charge": (charge.window, charge_dates), "fuel_change": (fuel_change.window, fuel_dates)}


@pytest.mark.parametrize("duty", DUTIES)
def test_the_fleet_agrees_with_the_reference_to_the_day(duty):
    window_of, dates_of = DUTIES[duty]
    fleet = fleet_of(CARS, seed=4)
    window = window_of(fleet, float(TODAY), POLICY)
    for car in range(CARS):
        plain = dates_of(fleet, car, TODAY, POLICY)
        core = [float(getattr(window, name)[car]) for name in ("early", "due", "late")]
        core = [np.inf if np.isnan(day) else day for day in core]
        assert np.floor(np.array(plain) + 1e-6).tolist() == np.floor(np.array(core) + 1e-6).tolist(), car
    assert len({int(limit) for limit in window.limit}) >= 3
