"""Water in fuel: how much is breathed in, and how much stays dissolved."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.physics.fuel import water
from scheduler.vocabulary.errors import OutOfRange

TEMP = st.floats(-20.0, 30.0)
ETHANOL = st.floats(0.0, 0.15)


@settings(max_examples=60)
@given(TEMP, TEMP, ETHANOL)
def test_colder_fuel_never_holds_more_water(one, other, ethanol):
    cold, warm = sorted((one, other))
    assert water.tolerance_pct(ethanol, cold) <= water.tolerance_pct(ethanol, warm) + 1e-12


@settings(max_examples=60)
@given(TEMP, ETHANOL, ETHANOL)
def test_more_ethanol_never_holds_less_water(temp_c, one, other):
    less, more = sorted((one, other))
    assert water.tolerance_pct(less, temp_c) <= water.tolerance_pct(more, temp_c) + 1e-12


@pytest.mark.parametrize(
    ("ethanol", "expected"),
    [
        (0.05, [0.102, 0.122, 0.142, 0.153, 0.162]),
        (0.10, [0.316, 0.388, 0.460, 0.500, 0.532]),
        (0.15, [0.647, 0.799, 0.952, 1.037, 1.104]),
    ],
)
def test_tolerance_at_worked_points(ethanol, expected):
    temps = np.array([-10.0, 0.0, 10.0, 15.56, 20.0])
    assert water.tolerance_pct(ethanol, temps) == pytest.approx(expected, abs=6e-4)


def test_petrol_saturated_warm_sheds_72_ml_of_40_litres_in_frost():
    shed = (water.tolerance_pct(0.10, 20.0) - water.tolerance_pct(0.10, -5.0)) / 100 * 40_000
    assert shed == pytest.approx(72, abs=0.5)


def test_the_fit_refuses_what_lies_beyond_it():
    beyond = ((0.2, 10.0, "ethanol_share"), (0.1, -30.0, "temp_c"), (0.1, 40.0, "temp_c"))
    for ethanol, temp_c, name in beyond:
        with pytest.raises(OutOfRange, match=name):
            water.tolerance_pct(ethanol, temp_c)


@settings(max_examples=60)
@given(st.floats(-20.0, 30.0), st.floats(0.0, 20.0), st.floats(0.0, 10.0), st.floats(0.0, 5.0))
def test_a_tank_breathes_more_with_swing_and_less_behind_a_valve(cold_c, swing_k, more_k, relief):
    narrow, wide = water.gas_breathed_share(cold_c, cold_c + swing_k + np.array([0.0, more_k]))
    valved = water.gas_breathed_share(cold_c, cold_c + swing_k, relief_kpa=relief)
    assert 0 <= valved <= narrow <= wide < 1


def test_a_litre_of_diesel_vapour_breathes_as_the_gas_law_says():
    assert water.gas_breathed_share(10.0, 20.0) == pytest.approx(1 - 283.15 / 293.15)


def test_nothing_condenses_on_a_wall_above_the_dew_point():
    vapour = 0.5 * water.saturation_pressure_pa(20.0)  # dew point 9.3 °C
    assert water.condensable_g_m3(vapour, 20.0, 12.0) == 0.0
    assert water.condensable_g_m3(vapour, 20.0, 2.0) > 0.0


def test_half_a_year_of_breathing_leaves_little_more_than_a_gram_in_diesel():
    damp = water.humidity_g_m3(0.80 * water.saturation_pressure_pa(10.0), 10.0)
    daily_g = 0.030 * water.gas_breathed_share(10.0, 20.0) * damp
    assert 180 * daily_g == pytest.approx(1.38, abs=0.01)


def test_a_wider_or_shorter_vent_lets_more_water_in():
    wide, narrow = water.diffusion_m3_per_day(np.array([0.010, 0.006]), 0.3)
    short, long = water.diffusion_m3_per_day(0.006, np.array([0.1, 0.3]))
    assert wide > narrow > 0
    assert short > long
