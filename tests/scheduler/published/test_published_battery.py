"""Batteries against what others have published: volts, gravity, freezing, leaking, charging, gassing."""

import numpy as np
import pytest

from scheduler.physics.battery import ageing, charge_state, charging, discharge, freezing, hydrogen
from scheduler.physics.battery.batteries import BATTERIES, SG_USUAL
from scheduler.physics.battery.charge_state import rested_volts
from scheduler.physics.materials import position
from tests.scheduler.published.tables import celsius_from_fahrenheit, columns, rows

CODE = {battery.name: position(BATTERIES, battery.name) for battery in BATTERIES}
RESTED_H = 24.0


def soc(volts, kind, temp_c=26.7, nominal_v=12.0):
    volts = np.atleast_1d(np.asarray(volts, float))
    every = np.ones(volts.size)
    level, _ = charge_state.soc_from_volts(
        volts,
        temp_c * every,
        RESTED_H * every,
        np.full(volts.size, CODE[kind]),
        nominal_v * every,
        np.nan * every,
    )
    return level


def test_the_army_workshop_table_is_met_within_half_its_step():
    """It rounds to 0.1 V, and 0.06 V is 9 % of charge near the bottom."""
    table = columns("battery_ocv_army")
    assert soc(table["volts"], "calcium") * 100 == pytest.approx(table["soc_pct"], abs=25 / 2)


@pytest.mark.parametrize(
    "row", rows("battery_ocv_temperature"), ids=lambda row: f"{row['kind']} {row['temp_c']}"
)
def test_the_temperature_table_is_met_to_its_last_millivolt(row):
    kind = {"wet": "flooded_antimony", "gel": "gel"}[row["kind"]]
    for percent in (100, 75, 50, 25, 0):
        volts, temp_c = float(row[f"v{percent}"]), float(row["temp_c"])
        assert rested_volts(percent / 100, temp_c, CODE[kind], 12.0) == pytest.approx(volts, abs=0.001)
        assert soc(volts, kind, temp_c)[0] == pytest.approx(percent / 100, abs=0.005)


def bode_cell_volts(molality):
    """Open circuit of a lead-acid cell at 25 °C, coefficients of Bode (1977), molality in mol/kg."""
    x = np.log10(molality)
    negative = -0.294 - 0.074 * x - 0.030 * x**2 - 0.031 * x**3 - 0.012 * x**4
    positive = 1.628 + 0.074 * x + 0.033 * x**2 + 0.043 * x**3 + 0.022 * x**4
    return positive - negative


def test_the_electrochemical_curve_agrees_with_the_voltage_table_within_20_millivolts():
    table = columns("battery_acid")
    ours = rested_volts(table["soc_pct"] / 100, 25.0, CODE["flooded_antimony"], 12.0)
    assert ours == pytest.approx(6 * bode_cell_volts(table["molality_mol_kg"]), abs=0.020)


def test_gravity_and_volts_of_one_battery_tell_the_same_charge():
    table = columns("battery_acid")
    every = np.full(table["sg"].size, charge_state.HYDROMETER_TRUE_AT_C.value)
    by_gravity, _ = charge_state.soc_from_sg(table["sg"], every, np.nan * every)
    assert by_gravity * 100 == pytest.approx(table["soc_pct"], abs=0.1)
    assert soc(table["volts"], "flooded_antimony") == pytest.approx(by_gravity, abs=0.001)


def test_volts_are_gravity_plus_0845_only_near_full():
    """DOE-HDBK-1084-95 p. 17: OCV = SG + 0.845 a cell; good near full, 0.1 V low when flat."""
    off = 6 * (np.array(SG_USUAL) + 0.845) - rested_volts(
        np.array([0, 0.25, 0.5, 0.75, 1.0]), 26.7, CODE["flooded_antimony"], 12.0
    )
    assert off == pytest.approx([-0.10, -0.06, -0.03, -0.03, 0.01], abs=0.006)


@pytest.mark.parametrize("row", rows("battery_agm_army"), ids=lambda row: row["soc_low_pct"])
def test_agm_volts_lie_in_the_published_ranges(row):
    middle = (float(row["volts_low"]) + float(row["volts_high"])) / 2
    level = np.clip(soc(middle, "agm")[0], 0, 1) * 100
    assert float(row["soc_low_pct"]) - 0.5 <= level <= float(row["soc_high_pct"]) + 0.5


@pytest.mark.parametrize("row", rows("battery_lfp_cell"), ids=lambda row: row["soc_pct"])
def test_lithium_volts_meet_an_independent_measurement(row):
    ours = rested_volts(float(row["soc_pct"]) / 100, 25.0, CODE["lifepo4"], 12.0) / 4
    assert ours == pytest.approx(float(row["cell_v"]), abs=float(row["tolerance_v"]))


def test_hydrometer_corrections_meet_the_worked_examples():
    table = columns("battery_hydrometer")
    ours = charge_state.corrected_sg(table["read"], table["temp_c"])
    assert ours == pytest.approx(table["true_at_80f"], abs=0.001)


@pytest.mark.parametrize(
    "row", rows("battery_freezing_soc"), ids=lambda row: f"{row['source']} {row['soc_pct']}"
)
def test_no_source_has_a_battery_freeze_warmer_than_ours(row):
    """One source is met at each level but 50 %, where ours takes acid of 1.190 from the acid tables."""
    ours = float(freezing.freezing_point_c(float(row["soc_pct"]) / 100))
    assert ours >= float(row["freezes_c"])


def test_self_discharge_meets_the_army_rates():
    """Share of charge a day over a span of 0.145 SG from full to flat; the source rounds hard."""
    table = columns("battery_self_discharge")
    temp_c = celsius_from_fahrenheit(table["temp_f"])
    r25 = BATTERIES[CODE["flooded_antimony"]].self_discharge.value
    ours = r25 * discharge.factor_days(temp_c)
    army = table["sg_per_day"] / (SG_USUAL[-1] - SG_USUAL[0])
    assert np.abs(ours / army - 1) == pytest.approx(0, abs=0.17)
    assert (np.abs(ours / army - 1) <= table["relative_tolerance"]).all()


def test_the_activation_energy_follows_from_the_army_pair_at_50_and_80_f():
    table = columns("battery_self_discharge")
    kelvin = celsius_from_fahrenheit(table["temp_f"]) + 273.15
    energy = 8.314462618 * np.log(table["sg_per_day"][1] / table["sg_per_day"][0])
    energy /= 1 / kelvin[0] - 1 / kelvin[1]
    assert energy == pytest.approx(discharge.ACTIVATION_ENERGY.range[0], rel=0.005)
    assert discharge.temperature_factor(30.0) / discharge.temperature_factor(20.0) == pytest.approx(
        2.0, rel=0.01
    )


@pytest.mark.parametrize(
    "row", rows("battery_worked_days"), ids=lambda row: f"{row['chemistry']} {row['days']}"
)
def test_worked_days_of_running_down(row):
    battery = BATTERIES[CODE[row["chemistry"]]]
    temp_c = float(row["temp_c"])
    steady = discharge.drain_per_day(float(row["drain_ma"]) / 1000, float(row["capacity_ah"]))
    levels = float(row["from_soc"]), float(row["to_soc"])

    def days(factor):
        return (levels[0] - levels[1]) / (battery.self_discharge.value / 30 * factor + steady)

    assert days(discharge.doubling_factor(temp_c, 10.0, 25.0)) == pytest.approx(float(row["days"]), rel=1e-3)
    # Arrhenius's law, which the plan uses, leaks less in the cold than doubling: later by a tenth at 5 °C.
    law = days(discharge.temperature_factor(temp_c))
    assert float(row["days"]) * 0.99 <= law <= float(row["days"]) * 1.11


def test_life_halves_for_each_8_kelvin():
    """BU-806a: 10 years at 25 °C, 5 at 33, 30 months at 41."""
    assert ageing.wear_rate(np.array([25.0, 33.0, 41.0])) == pytest.approx([1.0, 2.0, 4.0])


def test_cold_volts_are_corrected_before_they_are_read():
    assert soc(12.30, "flooded_antimony", 10.0)[0] * 100 == pytest.approx(60.5, abs=0.1)
    assert soc(12.30, "flooded_antimony", 26.7)[0] * 100 == pytest.approx(57.1, abs=0.1)


def test_the_charge_that_is_safe_at_minus_15_with_5_k_in_hand():
    assert freezing.safe_soc(-20.0) * 100 == pytest.approx(38.9, abs=0.05)


@pytest.mark.parametrize(
    "row", rows("battery_ventilation"), ids=lambda row: f"{row['chemistry']} {row['charge']}"
)
def test_ventilation_of_a_charging_bay(row):
    battery = BATTERIES[CODE[row["chemistry"]]]
    gas = {"float": battery.gas_float, "boost": battery.gas_boost}[row["charge"]]
    flow = hydrogen.ventilation_m3_h(float(row["cells"]), gas.value, float(row["capacity_ah"]))
    assert flow == pytest.approx(float(row["flow_m3_h"]), abs=0.0005)
    assert hydrogen.opening_cm2(flow) == pytest.approx(float(row["opening_cm2"]), abs=0.01)


@pytest.mark.parametrize(
    ("deficit_ah", "charger_a", "factor", "hours"), [(15, 4, 1.2, 4.5), (15, 4, 1.6, 6.0), (32, 5, 1.1, 7.04)]
)
def test_hours_on_charge(deficit_ah, charger_a, factor, hours):
    assert charging.charge_hours(deficit_ah, charger_a, factor) == pytest.approx(hours)


@pytest.mark.parametrize(
    ("kind", "cells", "volts"),
    [
        ("agm", 6, (14.22, 13.98, 13.74, 13.62, 13.50, 13.38)),
        ("calcium", 6, (13.98, 13.74, 13.50, 13.38, 13.26, 13.14)),
        ("flooded_antimony", 3, (6.99, 6.87, 6.75, 6.69, 6.63, 6.57)),
    ],
)
def test_maintainer_volts_rise_in_the_cold(kind, cells, volts):
    held = charging.float_volts(BATTERIES[CODE[kind]].float_v.value, cells, np.array([0, 10, 20, 25, 30, 35]))
    assert held == pytest.approx(volts, abs=0.005)
