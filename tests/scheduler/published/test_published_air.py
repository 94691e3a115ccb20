"""Air and corrosion against psychrolib, CoolProp, a real weather file and worked values."""

import warnings
from pathlib import Path

import numpy as np
import psychrolib
import pvlib
import pytest
from CoolProp.HumidAirProp import HAPropsSI

from scheduler.physics.air.corrosion import CATEGORIES, category, first_year_steel_um
from scheduler.physics.air.damp import wet_hours, wetness_class
from scheduler.physics.air.surfaces import (
    absolute_humidity_g_m3,
    dew_point_c,
    frost_point_c,
    surface_rh_pct,
    sweating_hours,
)
from tests.scheduler.published.tables import columns, rows

AIRS = [(20, 50), (15, 80), (10, 80), (5, 90)]


@pytest.fixture(scope="module")
def greensboro():
    """TMY3 of Greensboro, North Carolina (NREL), which ships in pvlib: temperature, humidity, dew point."""
    path = Path(pvlib.__file__).parent / "data" / "723170TYA.CSV"
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # the reader's own notices are not ours
        table, _ = pvlib.iotools.read_tmy3(path, map_variables=True)
    return {name: table[name].to_numpy(float) for name in ("temp_air", "relative_humidity", "temp_dew")}


@pytest.mark.parametrize(("temp_c", "rh_pct"), AIRS)
def test_dew_point_agrees_with_psychrolib(temp_c, rh_pct):
    psychrolib.SetUnitSystem(psychrolib.SI)
    expected = psychrolib.GetTDewPointFromRelHum(temp_c, rh_pct / 100)
    assert dew_point_c(temp_c, rh_pct) == pytest.approx(expected, abs=0.03)


@pytest.mark.parametrize(("temp_c", "rh_pct"), AIRS)
def test_dew_point_agrees_with_coolprop(temp_c, rh_pct):
    expected = HAPropsSI("Tdp", "T", temp_c + 273.15, "P", 101325, "R", rh_pct / 100) - 273.15
    assert dew_point_c(temp_c, rh_pct) == pytest.approx(expected, abs=0.03)


def test_below_freezing_psychrolibs_dew_point_is_our_frost_point():
    psychrolib.SetUnitSystem(psychrolib.SI)
    # psychrolib takes humidity over ice below 0 °C, so the same vapour is put in, not the same %.
    vapour_pa = 0.85 * 611.2
    expected = psychrolib.GetTDewPointFromVapPres(0.0, vapour_pa)
    assert frost_point_c(0.0, 85.0) == pytest.approx(expected, abs=0.03)
    assert dew_point_c(0.0, 85.0) == pytest.approx(-2.222, abs=0.001)


def test_absolute_humidity_of_worked_airs():
    temp, rh = np.array([20, 15, 10, 5, 0]), np.array([50, 80, 80, 90, 85])
    expected = [8.621, 10.237, 7.506, 6.112, 4.121]
    np.testing.assert_allclose(absolute_humidity_g_m3(temp, rh), expected, atol=0.001)


def test_the_published_room_reaches_80_per_cent_on_surfaces_at_12_6():
    assert dew_point_c(20, 50) == pytest.approx(9.3, abs=0.05)
    assert surface_rh_pct(20, 50, 12.6) == pytest.approx(80, abs=0.2)


def test_dew_point_of_a_real_year_agrees_on_average(greensboro):
    # humidity is rounded to 1 % in the file and a few records are interpolated: the mean, not the worst
    found = dew_point_c(greensboro["temp_air"], greensboro["relative_humidity"])
    assert np.mean(np.abs(found - greensboro["temp_dew"])) < 0.15


def test_time_of_wetness_of_a_real_year(greensboro):
    hours = wet_hours(greensboro["temp_air"], greensboro["relative_humidity"]).sum()
    assert hours == 3050
    assert wetness_class(hours) == 4


def test_heavy_metal_sweats_for_some_hundred_hours_of_a_real_year(greensboro):
    hours = sweating_hours(greensboro["temp_air"], greensboro["relative_humidity"]).sum()
    assert hours == pytest.approx(582, abs=6)  # worked apart from this code, step by step


@pytest.mark.parametrize("row", rows("steel_categories"), ids=lambda row: row["category"] + row["rh_pct"])
def test_steel_loss_of_worked_places(row):
    place = [float(row[name]) for name in ("mean_c", "rh_pct", "sulphur", "chloride")]
    loss = first_year_steel_um(*place, "open")
    assert loss == pytest.approx(float(row["loss_um"]), abs=0.001)
    assert CATEGORIES[category(loss)] == row["category"]


def test_categories_begin_above_the_standards_bounds():
    bounds = [1.3, 25, 50, 80, 200]  # ISO 9223:2012, carbon steel
    assert category(bounds).tolist() == [0, 1, 2, 3, 4]
    assert category(np.nextafter(bounds, 1e3)).tolist() == [1, 2, 3, 4, 5]


def test_every_table_of_this_folder_names_its_source():
    for path in Path(__file__).parent.glob("*.csv"):
        assert path.read_text(encoding="utf-8").startswith("#"), path.name
    assert columns("permeation")["air_f"].tolist() == [70, 90]
