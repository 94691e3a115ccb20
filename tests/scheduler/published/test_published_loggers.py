"""Real weather as a logger's file: normals against plain means, humidity against psychrolib."""

import csv
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import psychrolib
import pvlib
import pytest

from collection.loggers.core.stream import battery_of
from collection.loggers.core.understand import understand
from collection.loggers.reading.layout import NONE
from scheduler.loggers import monthly_of

NOW = datetime(2026, 11, 25, tzinfo=UTC)
BASE = np.zeros((4, 12)) + np.array([[5.0], [0.0], [10.0], [50.0]])


def read(data, zone="UTC"):
    return understand(data, layout=None, zone=zone, battery=None, now=NOW, tell=lambda _words: None)


@pytest.fixture(scope="module")
def greensboro():
    """TMY3 of Greensboro, North Carolina (NREL), which ships in pvlib, as one year: °C, dew point °C, %."""
    path = Path(pvlib.__file__).parent / "data" / "723170TYA.CSV"
    with path.open(newline="") as file:
        next(file)
        rows = list(csv.DictReader(file))
    columns = ("Dry-bulb (C)", "Dew-point (C)", "RHum (%)")
    return np.array([[float(row[name]) for name in columns] for row in rows])


def written(greensboro, *, fahrenheit=False, with_humidity=True):
    """The year as a logger of the country writes it: month first, twelve hours, °F if asked for."""
    begin = datetime(2025, 1, 1, tzinfo=UTC)
    heading = ["Record", "Date/Time", "Temp (°F)" if fahrenheit else "Temp (°C)", "Dew Point (°C)"]
    if fahrenheit:
        heading[3] = "Dew Point (°F)"
    if with_humidity:
        heading.append("Rel. Humidity (%)")
    lines = ["Plot Title: north wall", ",".join(heading)]
    for number, (warm, dew, damp) in enumerate(greensboro):
        stamp = (begin + number * timedelta(hours=1)).strftime("%m/%d/%y %I:%M:%S %p")
        air = [warm * 1.8 + 32, dew * 1.8 + 32] if fahrenheit else [warm, dew]
        cells = [str(number + 1), stamp, *(f"{x:.4f}" for x in air)]
        lines.append(",".join([*cells, f"{damp:g}"] if with_humidity else cells))
    return "\r\n".join(lines).encode("cp1252")


def normals(file):
    hours = file.hours
    return monthly_of(
        hours.hour * 3600.0, hours.mean[0], hours.least[0], hours.most[0], hours.mean[1], BASE
    ).normals


def plain_means(greensboro):
    """Independently: the mean of each month's days, by the calendar of 2025."""
    warm, damp = greensboro[:, 0].reshape(-1, 24), greensboro[:, 2].reshape(-1, 24)
    month = np.repeat(np.arange(12), [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
    daily = (warm.mean(1), warm.min(1), warm.max(1), damp.mean(1))
    return np.array([[figure[month == m].mean() for m in range(12)] for figure in daily])


@pytest.mark.parametrize("fahrenheit", [False, True])
def test_the_normals_of_a_real_year_are_its_plain_monthly_means(greensboro, fahrenheit):
    file = read(written(greensboro, fahrenheit=fahrenheit))
    assert file.layout.order == "mdy"
    assert file.layout.unit == ("f" if fahrenheit else "c")
    assert np.allclose(normals(file), plain_means(greensboro), atol=0.01)
    assert file.facts["faults"] == []


def test_humidity_reckoned_from_dew_point_is_psychrolibs(greensboro):
    file = read(written(greensboro, with_humidity=False))
    assert file.layout.humidity == NONE
    psychrolib.SetUnitSystem(psychrolib.SI)
    warm, dew = greensboro[:, 0], greensboro[:, 1]
    for hour in np.flatnonzero(dew > 0.5)[::97]:  # psychrolib takes vapour over ice below freezing
        expected = 100 * psychrolib.GetRelHumFromTDewPoint(warm[hour], min(dew[hour], warm[hour]))
        assert file.hours.mean[1][hour] == pytest.approx(expected, abs=0.25)


def test_the_file_as_it_is_published_is_read_with_its_faults_told():
    """Its months come from different years, its days end at 24:00; nothing is lost in silence."""
    path = Path(pvlib.__file__).parent / "data" / "723170TYA.CSV"
    file = read(path.read_bytes(), zone="America/New_York")
    assert file.layout.order == "mdy"
    assert file.layout.names[file.layout.temperature] == "Dry-bulb (C)"
    assert file.facts["rows"] == 8760
    backward = sum(fault["count"] for fault in file.facts["faults"] if "years back" in fault["words"])
    assert backward + file.facts["kept"] == 8760


def test_the_file_of_sand_point_too():
    path = Path(pvlib.__file__).parent / "data" / "703165TY.csv"
    file = read(path.read_bytes(), zone="America/Anchorage")
    assert file.facts["rows"] == 8760
    assert file.layout.names[file.layout.temperature] == "Dry-bulb (C)"


def test_a_car_of_which_nothing_is_known_is_read_as_twelve_volts_of_lead():
    assert (battery_of(None, "").system_volts, battery_of(None, "").family) == (12.0, "lead")
    assert battery_of(12, "lifepo4").family == "lithium"
