"""What a reading means at the car: bands that cover every value, by the car's own limits."""

from dataclasses import replace
from math import inf

import numpy as np
import pytest

from scheduler.duties.meter import answer, bands
from scheduler.duties.policy import Policy
from tests.scheduler.barn import READING_KINDS, Readings
from tests.scheduler.barn import cars as plain_cars
from tests.scheduler.batteries import TODAY, cars

POLICY = Policy()


@pytest.mark.parametrize("chemistry", ["flooded_antimony", "calcium", "agm", "lifepo4"])
def test_the_bands_of_every_quantity_fall_and_leave_no_value_out(chemistry):
    fleet = cars(chemistry=chemistry)
    fleet = replace(fleet, placard_kpa=np.full(len(fleet), 200.0))
    for name, of in bands(fleet, 0, float(TODAY), POLICY).items():
        least = [band.least for band in of]
        assert least == sorted(least, reverse=True), name
        assert least[-1] == -inf, name


@pytest.mark.parametrize(
    ("volts", "begins"),
    # about 12.65 V full, 12.4 V three quarters, 12.1 V half, 11.9 V flat at mild air: the published tables of
    # ``batteries.py``; below 10.5 V no sound battery of 12 V rests (``SOUND_CELL_LEAST_V``)
    [(12.9, "Full"), (12.1, "About half"), (11.3, "Flat and beyond"), (9.0, "Its volts"), (14.0, "Still on")],
)
def test_volts_are_answered_by_charge(volts, begins):
    of = bands(cars(chemistry="flooded_antimony"), 0, float(TODAY), POLICY)["rested_volts"]
    assert answer(of, volts).text.startswith(begins)


def test_a_six_volt_battery_is_answered_by_half():
    twelve = bands(cars(), 0, float(TODAY), POLICY)["rested_volts"]
    six = bands(cars(battery_volts=6.0), 0, float(TODAY), POLICY)["rested_volts"]
    for volts in np.arange(4.0, 15.0, 0.1):
        assert answer(six, volts / 2).text == answer(twelve, volts).text


def tyres(*read):
    fleet = replace(plain_cars(), placard_kpa=np.array([200.0]))
    days, values = np.array([day for day, _ in read], float), np.array([kpa for _, kpa in read], float)
    count, unsaid = len(read), np.full(len(read), np.nan)
    kind = np.full(count, READING_KINDS.index("tyre_pressure"))
    position, row = np.zeros(count, int), np.zeros(count, int)
    return replace(fleet, readings=Readings(row, days, kind, values, unsaid, unsaid, position))


def test_a_tyre_that_lost_more_than_tyres_do_has_a_leak_and_one_that_did_not_has_none():
    of = bands(tyres((TODAY - 30, 220.0)), 0, float(TODAY), POLICY)["tyre_pressure_0"]
    assert "leak" in answer(of, 190.0).text  # 14 % in a month
    assert "leak" not in answer(of, 205.0).text  # 7 % in a month


def test_a_reading_of_the_day_before_tells_of_no_leak():
    assert "tyre_pressure_0" not in bands(tyres((TODAY - 1, 220.0)), 0, float(TODAY), POLICY)
