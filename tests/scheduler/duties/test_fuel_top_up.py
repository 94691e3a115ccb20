"""What topping up would do is told before anyone pours."""

import numpy as np
import pytest

from scheduler.duties.fuel.top_up import top_up
from scheduler.duties.policy import Policy
from tests.scheduler.fuel_cars import TODAY, car, steady, together

POLICY = Policy()
MONTH = 365.2425 / 12
LIKELY = 1


def poured(fleet, litres, bio):
    n = len(fleet)
    return top_up(fleet, np.full(n, litres), np.full(n, bio), TODAY, POLICY)


def test_a_third_of_fresh_fuel_thins_the_age_and_restores_vapour_pressure():
    told = poured(car(steady(20.0), fuel_events=((3 * MONTH, "filled", 30.0, 0.05),)), 10.0, 0.05)
    assert told.before.used[LIKELY, 0] == pytest.approx(0.5)
    assert told.after.used[LIKELY, 0] == pytest.approx(0.375)
    assert told.after.reid_kpa[LIKELY, 0] >= told.before.reid_kpa[LIKELY, 0]
    assert told.mends[0]
    assert not told.separates[0]


def test_topping_up_does_not_mend_stale_fuel():
    stale = car(steady(20.0), fuel_events=((7 * MONTH, "filled", 30.0, 0.05),))
    assert not poured(stale, 10.0, 0.05).mends[0]


def test_a_leaner_grade_on_damp_fuel_is_warned_of_and_the_record_stays_as_it_was():
    damp = steady(10.0, rh_pct=95.0, swing_k=16.0)
    history = ((1400.0, "filled", 8.0, 0.10),)
    wet = car(damp, fuel="petrol_e10", venting="open", system="carburettor", fuel_events=history)
    clear = car(steady(10.0), fuel="petrol_e10", fuel_events=((20.0, "filled", 30.0, 0.10),))
    told = poured(together(wet, clear), 28.0, 0.0)
    assert told.separates.tolist() == [True, False]
    assert len(wet.fuel_events.day) == 1
