"""Battery mechanisms: bounded, monotone, continuous, and plain about wrong arguments."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.physics.battery import ageing, charge_state, charging, discharge, freezing, hydrogen
from scheduler.physics.battery.ageing import ANTIMONY_FASTER, leaks_faster
from scheduler.physics.battery.batteries import BATTERIES
from scheduler.physics.battery.charge_state import rested_volts
from scheduler.physics.battery.crediting import charged_soc, driven_soc, spare_amps
from scheduler.physics.battery.discharge import temperature_factor
from scheduler.physics.materials import position
from scheduler.vocabulary.errors import BadInput

CODES = range(len(BATTERIES))
NAMES = [battery.name for battery in BATTERIES]
temperatures = st.floats(-40, 60)
shares = st.floats(0, 1)


def read_volts(volts, code=0, temp_c=20.0, rest_h=24.0, nominal_v=12.0, full_sg=np.nan):
    one = np.ones(np.size(volts))
    return charge_state.soc_from_volts(
        volts * one, temp_c * one, rest_h * one, np.full(one.size, code), nominal_v * one, full_sg * one
    )


@settings(max_examples=50, deadline=None)
@given(temperatures, temperatures)
def test_self_discharge_is_faster_where_it_is_warmer(one, other):
    cooler, warmer = sorted([one, other])
    assert 0 < discharge.temperature_factor(cooler) <= discharge.temperature_factor(warmer)


@settings(max_examples=50, deadline=None)
@given(shares, st.floats(0, 3), st.floats(0, 3))
def test_charge_left_stays_between_nothing_and_full(start, leaked, drained):
    assert 0 <= discharge.state_of_charge(start, leaked, drained) <= 1


@settings(max_examples=50, deadline=None)
@given(shares, shares)
def test_a_fuller_battery_freezes_at_a_lower_temperature(one, other):
    emptier, fuller = sorted([one, other])
    assert freezing.freezing_point_c(fuller) <= freezing.freezing_point_c(emptier) <= freezing.FREEZES_C[0]


@settings(max_examples=50, deadline=None)
@given(st.floats(-59, -9.5))
def test_the_safe_charge_freezes_exactly_there(temp_c):
    assert freezing.freezing_point_c(freezing.safe_soc(temp_c)) == pytest.approx(temp_c, abs=1e-6)


def test_no_charge_is_safe_below_the_freezing_point_of_full_acid_and_any_above_that_of_flat():
    assert freezing.safe_soc([-59.6, -9.4, 5.0]).tolist() == [np.inf, 0.0, 0.0]


@pytest.mark.parametrize("code", CODES, ids=NAMES)
def test_volts_and_charge_are_each_others_inverse(code):
    levels = np.array(BATTERIES[code].open_circuit.soc)
    for nominal_v in (6.0, 12.0, 24.0):
        volts = rested_volts(levels, 5.0, code, nominal_v)
        soc, _ = read_volts(volts, code, 5.0, nominal_v=nominal_v)
        assert soc == pytest.approx(levels, abs=1e-9)


@pytest.mark.parametrize("code", CODES, ids=NAMES)
def test_higher_volts_never_mean_less_charge_and_charge_has_no_jumps(code):
    volts = np.linspace(8.0, 14.0, 4001)
    soc, sd = read_volts(volts, code)
    assert (np.diff(soc) > 0).all()
    assert np.diff(soc).max() < 0.05
    assert (sd > 0).all()


def test_one_voltage_means_more_charge_in_the_cold():
    assert read_volts(12.4, temp_c=-10.0)[0] > read_volts(12.4, temp_c=25.0)[0]


def test_a_six_volt_battery_has_half_the_volts():
    assert read_volts(6.2, nominal_v=6.0)[0] == pytest.approx(read_volts(12.4)[0])


def test_lithium_volts_on_the_plateau_give_a_band_and_lead_gives_a_figure():
    plateau = read_volts(13.07, position(BATTERIES, "lifepo4"))[1]
    lead = read_volts(12.4)[1]
    assert plateau > 0.10
    assert lead < 0.05


def test_lithium_volts_do_not_follow_the_acid():
    code = position(BATTERIES, "lifepo4")
    assert read_volts(13.0, code, -15.0)[0] == read_volts(13.0, code, 30.0)[0]


def test_too_short_a_rest_says_nothing_and_a_short_one_half_as_much():
    assert np.isnan(read_volts(12.5, rest_h=2.0)[0])
    assert read_volts(12.5, rest_h=5.0)[1] > 1.5 * read_volts(12.5, rest_h=10.0)[1]
    assert read_volts(12.5, rest_h=np.nan)[1] == read_volts(12.5, rest_h=5.0)[1]


def test_a_strong_fill_stands_higher_for_the_same_charge():
    assert read_volts(12.65, full_sg=1.280)[0] < read_volts(12.65)[0]


@pytest.mark.parametrize(
    ("gravity", "percent"), [(1.280, 100), (1.250, 75), (1.220, 50), (1.190, 25), (1.130, 0)]
)
def test_a_strong_fill_is_read_by_its_own_table(gravity, percent):
    """US Army TM 5-1185 Table II."""
    soc, _ = charge_state.soc_from_sg(np.array([gravity]), np.array([26.67]), np.array([1.280]))
    assert soc[0] * 100 == pytest.approx(percent, abs=0.01)


def test_a_fill_weaker_than_usual_is_full_at_its_own_gravity():
    soc, _ = charge_state.soc_from_sg(np.array([1.240]), np.array([26.67]), np.array([1.240]))
    assert soc[0] == pytest.approx(1.0)


@pytest.mark.parametrize("volts", [-12.0, 126.0, 14.4])
def test_impossible_volts_are_not_believed(volts):
    assert not charge_state.believable(np.array([volts]), np.array([0]), np.array([12.0]))[0]


@pytest.mark.parametrize("volts", [0.0, 4.0, 10.5, 11.9, 12.7, 13.2])
def test_a_flat_battery_and_a_full_one_are_believed(volts):
    assert charge_state.believable(np.array([volts]), np.array([0]), np.array([12.0]))[0]


@settings(max_examples=50, deadline=None)
@given(st.floats(0, 40), st.floats(0, 40), temperatures, temperatures)
def test_older_and_hotter_never_hold_more(age, other_age, temp_c, other_temp_c):
    younger, older = sorted([age, other_age])
    cooler, warmer = sorted([temp_c, other_temp_c])
    fresh = ageing.health(younger * ageing.wear_rate(cooler), 4.5)
    worn = ageing.health(older * ageing.wear_rate(warmer), 4.5)
    assert 0.5 <= worn <= fresh <= 1.0


def test_cold_adds_no_life_that_nobody_has_measured():
    assert ageing.wear_rate(-10.0) == ageing.wear_rate(20.0)


def test_a_battery_at_the_end_of_its_life_holds_80_percent():
    assert ageing.health(4.5, 4.5) == pytest.approx(0.8)


def test_wear_is_one_day_a_day_at_25_degrees():
    assert ageing.wear_rate(np.array([25.0, 33.0])) == pytest.approx([1.0, 2.0])


def test_charging_takes_longer_with_a_larger_deficit_and_a_smaller_charger():
    assert (
        charging.charge_hours(20, 4, 1.2)
        > charging.charge_hours(10, 4, 1.2)
        > charging.charge_hours(10, 8, 1.2)
    )
    assert charging.charge_energy_wh(10, 12, 0.7) == pytest.approx(171.4, abs=0.1)


def test_energy_put_in_is_never_less_than_the_energy_missing():
    for battery in BATTERIES:
        assert charging.charge_energy_wh(10, 12, battery.energy_efficiency.value) >= 120


def test_every_chemistry_is_in_order():
    for battery in BATTERIES:
        curve = battery.open_circuit
        assert list(curve.soc) == sorted(curve.soc)
        assert list(curve.volts) == sorted(set(curve.volts))
        assert battery.hot_interval.value <= battery.interval.value
        assert 0 < battery.self_discharge.range[0] <= battery.self_discharge.range[2] < 0.5
    assert NAMES[-1] == "unknown"
    assert len(set(NAMES)) == len(NAMES)


@pytest.mark.parametrize(
    ("call", "named"),
    [
        (lambda: discharge.temperature_factor(np.nan), "temp_c"),
        (lambda: discharge.temperature_factor(-300.0), "temp_c"),
        (lambda: discharge.temperature_factor(300.0), "temp_c"),
        (lambda: discharge.drain_per_day(-0.02, 60), "current_a"),
        (lambda: discharge.drain_per_day(0.02, 0), "capacity_ah"),
        (lambda: discharge.drain_per_day(0.02, np.nan), "capacity_ah"),
        (lambda: freezing.freezing_point_c(1.2), "soc"),
        (lambda: freezing.freezing_point_c(np.nan), "soc"),
        (lambda: read_volts(np.nan), "volts"),
        (lambda: read_volts(12.0, nominal_v=0.0), "nominal_v"),
        (lambda: ageing.health(-1, 4.5), "age_at_25c_years"),
        (lambda: ageing.health(1, 0), "life_at_25c_years"),
        (lambda: charging.charge_hours(10, 0, 1.2), "charger_a"),
        (lambda: charging.charge_hours(-1, 4, 1.2), "deficit_ah"),
        (lambda: hydrogen.ventilation_m3_h(6, 20, -60), "capacity_ah"),
    ],
)
def test_a_wrong_argument_is_named(call, named):
    with pytest.raises(BadInput, match=f"^{named}"):
        call()


def test_a_chemistry_nobody_knows_is_named():
    with pytest.raises(BadInput, match="unobtainium"):
        position(BATTERIES, "unobtainium")


# what part charges and drives put in
def test_a_part_charge_meets_hand_arithmetic():
    # 4 A · 0.95 on 60 Ah for 4 h; a big charger tails off; 1 A for half a day
    got = charged_soc([0.5, 0.5, 0.5, 0.0], [4.0, 10.0, 1.0, 4.0], [4.0, 5.4, 12.0, 8.0], [60, 60, 60, 70])
    assert got == pytest.approx([0.753, 0.98, 0.69, 0.434], abs=0.002)


def test_a_drive_meets_hand_arithmetic_and_gives_less_in_the_cold():
    ah = 70.0 * (driven_soc(0.5, 25.0, 0.75, 70.0, [20.0, 0.0, -10.0]) - 0.5)
    assert ah[:2] == pytest.approx([9.07, 4.88], abs=0.02)
    assert ah[2] < ah[1]
    # a 6 V dynamo has less to give than the battery would take
    assert 84.0 * (driven_soc(0.5, 6.5, 0.75, 84.0, 20.0) - 0.5) == pytest.approx(4.88, abs=0.02)


@settings(max_examples=50, deadline=None)
@given(st.floats(0, 1), st.floats(0, 30), st.floats(0, 500), st.floats(20, 120))
def test_what_goes_in_never_empties_and_neither_charger_nor_engine_alone_says_full(soc, amps, hours, ah):
    for after in (charged_soc(soc, amps, hours, ah), driven_soc(soc, amps, hours, ah, 10.0)):
        assert after >= soc
        assert after <= max(soc, 0.98)
        longer = charged_soc(soc, amps, hours + 1.0, ah)
        assert longer >= charged_soc(soc, amps, hours, ah)


@pytest.mark.parametrize(("amps", "hours", "ah"), [(-1, 1, 60), (1, -1, 60), (1, 1, 0)])
def test_impossible_currents_hours_and_capacities_are_refused(amps, hours, ah):
    for put_in in (lambda: charged_soc(0.5, amps, hours, ah), lambda: driven_soc(0.5, amps, hours, ah, 10)):
        with pytest.raises(BadInput):
            put_in()


def test_an_alternator_spares_more_than_a_dynamo_and_a_dynamo_nothing_at_idle():
    modern, dynamo, six = (
        spare_amps(year, volts, 60.0) for year, volts in ((1990, 12), (1955, 12), (1940, 6))
    )
    assert modern > dynamo > six > 0
    assert spare_amps([1955.0, 1990.0], 12.0, 0.0).tolist() == [0.0, 5.0]


def test_self_discharge_grows_with_age_and_most_with_antimony():
    # 17 % in 30 days when new: 88 days from full to three quarters at 15 °C, 40 at five years, 29 at eight
    rate = 0.17 * float(temperature_factor(15.0)) / 30.0
    days = 0.25 / (rate * leaks_faster([0.0, 5.0, 8.0], [ANTIMONY_FASTER] * 3))
    assert days == pytest.approx([88, 42, 29], rel=0.06)
    old = {row.name: row.leaks_faster[-1] for row in BATTERIES}
    assert old["flooded_antimony"] > old["hybrid"] > old["calcium"] > old["gel"] > old["lifepo4"] == 1.0
