"""Air against psychrolib, CoolProp, a real weather file and worked values."""

import warnings
from pathlib import Path

import numpy as np
import psychrolib
import pvlib
import pytest
from CoolProp.HumidAirProp import HAPropsSI

from scheduler.physics.air.damp import wet_hours, wetness_class
from scheduler.physics.air.surfaces import (
    dew_point_c,
    sweating_hours,
)
from tests.scheduler.published.tables import columns

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


def test_dew_point_of_a_real_year_agrees_on_average(greensboro):
    # humidity is rounded to 1 % in the file and a few records are interpolated: the mean, not the worst
    computed = dew_point_c(greensboro["temp_air"], greensboro["relative_humidity"])
    assert np.mean(np.abs(computed - greensboro["temp_dew"])) < 0.15


def test_time_of_wetness_of_a_real_year(greensboro):
    hours = wet_hours(greensboro["temp_air"], greensboro["relative_humidity"]).sum()
    assert hours == 3050
    assert wetness_class(hours) == 4


def test_heavy_metal_sweats_for_some_hundred_hours_of_a_real_year(greensboro):
    hours = sweating_hours(greensboro["temp_air"], greensboro["relative_humidity"]).sum()
    assert hours == pytest.approx(582, abs=6)  # worked apart from this code, step by step


def test_every_table_of_this_folder_names_its_source():
    for path in Path(__file__).parent.glob("*.csv"):
        assert path.read_text(encoding="utf-8").startswith("#"), path.name
    assert columns("permeation")["air_f"].tolist() == [70, 90]
