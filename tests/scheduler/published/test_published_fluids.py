"""Brake fluid and coolant against standards, handbooks, a road-research report and CoolProp."""

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI

from scheduler.physics.fluids.brake_fluid import WET_TEST_WATER_PCT, boiling_point_c, depression_k
from scheduler.physics.fluids.coolant import (
    drain_and_replace_litres,
    freezing_point_c,
    volume_share_for,
)
from scheduler.physics.fluids.fluids import FLUID_KINDS, POSITION
from scheduler.physics.fluids.glycols import GLYCOLS
from scheduler.physics.materials import at
from scheduler.physics.temperatures import kelvin
from tests.scheduler.published.tables import celsius_from_fahrenheit, columns, rows

PINTS_PER_GALLON = 8


@pytest.mark.parametrize("row", rows("fmvss_116"), ids=lambda row: row["grade"])
def test_each_grade_carries_the_standards_limits(row):
    code = [POSITION[row["grade"]]]
    assert at(FLUID_KINDS, code, "dry_boil_c")[1, 0] == float(row["dry_c"])
    assert at(FLUID_KINDS, code, "wet_boil_c")[1, 0] == float(row["wet_c"])
    assert at(FLUID_KINDS, code, "takes_water")[0] == float(row["takes_water"])


@pytest.mark.parametrize("row", rows("fmvss_116"), ids=lambda row: row["grade"])
def test_the_curve_meets_each_grades_dry_and_wet_limit(row):
    dry, wet = float(row["dry_c"]), float(row["wet_c"])
    boils = boiling_point_c([0.0, WET_TEST_WATER_PCT.value], dry, depression_k(dry, wet))
    np.testing.assert_allclose(boils, [dry, wet], atol=1e-9)


def test_the_curve_meets_the_road_research_points():
    table = columns("trrl_lr_903")
    np.testing.assert_allclose(boiling_point_c(table["water_pct"], 250.0, 140.0), table["boils_c"], atol=0.5)


def test_the_curve_is_near_the_trade_figures_for_another_fluid():
    table = columns("trade_dot_3_water")
    boils = boiling_point_c(table["water_pct"], 250.0, 140.0)
    np.testing.assert_allclose(boils, celsius_from_fahrenheit(table["boils_f"]), atol=8.0)


@pytest.mark.parametrize(
    ("ours", "theirs", "tolerance_k"),
    [
        # fits of the ASHRAE table itself, volume basis: they guard against a slip of the pen
        ("ethylene", "AEG", 0.4),
        ("propylene", "APG", 0.15),
    ],
)
def test_freezing_agrees_with_coolprops_fit_by_volume(ours, theirs, tolerance_k):
    shares = np.arange(0.10, 0.57, 0.02)
    fluid = [f"INCOMP::{theirs}[{share:.4f}]" for share in shares]
    expected = [PropsSI("T_freeze", "T", kelvin(20), "P", 101325, name) - 273.15 for name in fluid]
    np.testing.assert_allclose(freezing_point_c(shares, ours), expected, atol=tolerance_k)


def by_mass(volume_share, glycol):
    """The mass share of a mixture, by the table's own columns."""
    return np.interp(volume_share, GLYCOLS[glycol].volume_share, GLYCOLS[glycol].mass_share)


@pytest.mark.parametrize(
    ("ours", "theirs", "tolerance_k"),
    [
        # Melinder's measurements, mass basis: independent; the ASHRAE value is the warmer for ethylene
        ("ethylene", "MEG", 3.0),
        ("propylene", "MPG", 1.5),
    ],
)
def test_freezing_agrees_with_melinders_measurements_by_mass(ours, theirs, tolerance_k):
    shares = np.arange(0.02, 0.57, 0.03)
    fluid = [f"INCOMP::{theirs}[{share:.6f}]" for share in by_mass(shares, ours)]
    expected = [PropsSI("T_freeze", "T", kelvin(20), "P", 101325, name) - 273.15 for name in fluid]
    np.testing.assert_allclose(freezing_point_c(shares, ours), expected, atol=tolerance_k)


def test_freezing_agrees_with_langes_handbook():
    table = columns("lange_propylene_glycol")
    freezing = freezing_point_c(table["volume_pct"] / 100, "propylene")
    np.testing.assert_allclose(freezing, table["freezing_c"], atol=1.45)  # Lange's is the warmer throughout


def test_the_armys_mixtures_protect_to_their_air_temperature():
    table = columns("army_antifreeze")
    freezing = freezing_point_c(table["pints_per_gallon"] / PINTS_PER_GALLON, "ethylene")
    margin_k = celsius_from_fahrenheit(table["lowest_f"]) - freezing
    assert margin_k.min() > -0.2
    assert margin_k.max() < 2.7


@pytest.mark.parametrize("glycol", ["ethylene", "propylene"])
def test_the_heating_trades_table_agrees_within_3_k(glycol):
    # for ethylene glycol it keeps up to 2.9 K in hand over the handbook, for propylene none
    table = columns("hvac_freeze_protection")
    freezing = freezing_point_c(table[f"{glycol}_pct"] / 100, glycol)
    np.testing.assert_allclose(freezing, celsius_from_fahrenheit(table["ambient_f"]), atol=3.0)


def test_half_by_volume_of_ethylene_glycol_is_more_than_half_by_mass():
    assert by_mass(0.50, "ethylene") == pytest.approx(0.524, abs=0.001)


def test_the_refill_example_comes_out():
    have, want = volume_share_for([-15.0, -30.0], "ethylene")
    assert (have, want) == (pytest.approx(0.290, abs=0.001), pytest.approx(0.4465, abs=0.001))
    assert drain_and_replace_litres(8.0, have, want) == pytest.approx(1.76, abs=0.01)
