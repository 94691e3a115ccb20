"""The mechanisms of fuel: ageing, lighter parts, blending, dose, cold flow."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.physics.fuel import blending as fuel_blending
from scheduler.physics.fuel import cold_flow
from scheduler.physics.fuel import dose as fuel_dose
from scheduler.physics.fuel import oxidation as fuel_oxidation
from scheduler.physics.fuel import vapour as fuel_vapour
from scheduler.physics.fuel.fuels import CODES, FUELS, IS_DIESEL, UNKNOWN_FUEL
from scheduler.physics.materials import at
from scheduler.vocabulary.errors import BadInput, OutOfRange

TEMP = st.floats(-40.0, 50.0)
SHARE = st.floats(0.0, 1.0)


@settings(max_examples=60)
@given(TEMP, st.floats(0.0, 20.0))
def test_warmer_fuel_ages_no_slower(temp_c, more_k):
    cool, warm = fuel_oxidation.ageing_rate(np.array([temp_c, temp_c + more_k]))
    assert cool <= warm


def test_ageing_doubles_each_ten_kelvin():
    rates = fuel_oxidation.ageing_rate(np.arange(-20.0, 50.0, 10.0))
    assert rates[1:] / rates[:-1] == pytest.approx(2.0)


def life(fill=0.9, vented=False, treated=0.0, months=(3.0, 6.0, 12.0)):
    return fuel_oxidation.life_days(
        np.array(months)[:, None], np.array([fill]), np.array([vented]), np.array([treated])
    )[:, 0]


def test_treatment_helps_up_to_the_claims_and_never_past_24_months():
    assert life(treated=1.0)[1] == pytest.approx(2 * life()[1])
    assert life(treated=1.0)[0] == pytest.approx(life()[0])
    long_lived = life(treated=1.0, months=(12.0, 18.0, 20.0)) / (365.2425 / 12)
    assert long_lived == pytest.approx([12.0, 24.0, 24.0])


def test_half_treated_fuel_gains_half():
    assert life(treated=0.5)[1] == pytest.approx((life()[1] + life(treated=1.0)[1]) / 2)


def test_nearly_empty_vented_tank_lasts_a_month():
    months = life(fill=0.1, vented=True) / (365.2425 / 12)
    assert months == pytest.approx([0.75, 1.0, 2.0])
    assert life(fill=0.1, vented=False) == pytest.approx(life())


@settings(max_examples=60)
@given(st.floats(30.0, 100.0), st.floats(-20.0, 35.0), st.floats(0.0, 15.0), st.floats(0.0, 10.0))
def test_more_swing_never_loses_less(reid, cold_c, swing_k, more_k):
    hot_c = cold_c + swing_k + np.array([0.0, more_k])
    narrow, wide = fuel_vapour.daily_loss_g_per_m3(reid, cold_c, hot_c)
    assert 0 <= narrow <= wide


@settings(max_examples=60)
@given(st.floats(45.0, 90.0), st.floats(0.0, 20.0), st.floats(0.1, 20.0), SHARE)
def test_more_ullage_never_loses_less_and_pressure_only_falls(reid, ratio, more, winter):
    slope = fuel_vapour.weathering_slope(winter)
    full, empty = fuel_vapour.reid_after(reid, 5000.0, 60.0, np.array([ratio, ratio + more]), slope)
    assert fuel_vapour.LEAST_REID_KPA <= empty <= full <= reid + 1e-9


@settings(max_examples=60)
@given(st.floats(46.0, 90.0), st.floats(0.05, 20.0), SHARE)
def test_the_loss_until_the_floor_brings_fuel_to_the_floor(reid, ratio, winter):
    slope = fuel_vapour.weathering_slope(winter)
    amount = fuel_vapour.loss_until(reid, 45.0, 60.0, ratio, slope)
    assert fuel_vapour.reid_after(reid, amount, 60.0, ratio, slope) == pytest.approx(45.0)


def test_fuel_below_the_floor_needs_no_more_loss_and_a_brim_full_tank_never_gets_there():
    assert fuel_vapour.loss_until(44.0, 45.0, 60.0, 1.0, 1.6) == 0.0
    assert np.isinf(fuel_vapour.loss_until(60.0, 45.0, 60.0, 0.0, 1.6))


@settings(max_examples=60)
@given(st.floats(0.0, 80.0), SHARE, st.floats(0.1, 80.0), SHARE)
def test_a_blend_lies_between_its_parts(there_l, there, added_l, added):
    mixed = fuel_blending.blend(there_l, there, added_l, added)
    assert min(there, added) - 1e-12 <= mixed <= max(there, added) + 1e-12


def test_a_third_fresh_brings_the_age_down_by_a_quarter():
    assert fuel_blending.blend(30.0, 0.8, 10.0, 0.0) == pytest.approx(0.6)


def test_a_drive_draws_treated_fuel_through_and_a_short_idle_does_not():
    idle, drive = fuel_dose.IDLE_ML_PER_MIN.value, fuel_dose.DRIVE_ML_PER_MIN.value
    assert fuel_dose.draw_through_minutes(idle) == pytest.approx(68, abs=0.5)
    assert fuel_dose.draw_through_minutes(idle, 285.0, 0.0) == pytest.approx(28, abs=0.5)
    assert fuel_dose.draw_through_minutes(drive) == pytest.approx(8.6, abs=0.1)


def test_summer_diesel_in_frost_is_red_and_near_its_point_amber():
    cold = np.array([-2.0, 2.0, 5.1])
    assert cold_flow.verdict(cold, 0.0).tolist() == [cold_flow.RED, cold_flow.AMBER, cold_flow.GREEN]
    assert cold_flow.verdict(5.5, 0.0, cloud_c=6.0) == cold_flow.AMBER


def test_colder_classes_of_diesel_plug_later():
    classes = list(cold_flow.CLASSES_C.values())
    assert classes == sorted(classes, reverse=True)
    low, likely, high = cold_flow.cfpp_c(np.array([True, False]))
    assert (low <= likely).all()
    assert (likely <= high).all()
    assert likely[0] > likely[1]


@pytest.mark.parametrize("name", [fuel.name for fuel in FUELS])
def test_every_fuel_orders_its_values_and_a_closed_tank_keeps_no_shorter(name):
    fuel = FUELS[CODES[name]]
    for low, capped, sealed in zip(
        fuel.life_open.range, fuel.life_capped.range, fuel.life_sealed.range, strict=True
    ):
        assert 0 < low <= capped <= sealed
    assert 0 <= fuel.bio_share.value <= 1
    assert (fuel.summer_kpa is None) == IS_DIESEL[CODES[name]]


def test_unknown_fuel_is_the_last_row():
    assert FUELS[UNKNOWN_FUEL].name == "unknown"
    assert at(FUELS, [-1], "life_capped") == pytest.approx(at(FUELS, [UNKNOWN_FUEL], "life_capped"))


@pytest.mark.parametrize(
    ("call", "argument"),
    [
        (lambda: fuel_oxidation.ageing_rate(np.nan), "temp_c"),
        (lambda: fuel_oxidation.ageing_rate(-300.0), "temp_c"),
        (lambda: fuel_vapour.vapour_pressure_kpa(0.0, 20.0), "reid_kpa"),
        (lambda: fuel_vapour.weathering_slope(1.5), "winter_share"),
        (lambda: fuel_dose.draw_through_minutes(0.0), "flow_ml_per_min"),
        (lambda: fuel_blending.blend(-1.0, 0.5, 1.0, 0.5), "litres_there"),
        (lambda: cold_flow.verdict(np.nan, 0.0), "coldest_c"),
    ],
)
def test_bad_input_names_its_argument(call, argument):
    with pytest.raises(BadInput, match=argument):
        call()


def test_a_value_out_of_range_carries_its_limits():
    with pytest.raises(OutOfRange) as caught:
        fuel_oxidation.ageing_rate(-300.0)
    assert (caught.value.value, caught.value.low, caught.value.high) == (-300.0, -60.0, 70.0)
