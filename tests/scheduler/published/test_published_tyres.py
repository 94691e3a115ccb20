"""Tyres against the date-code rule, the gas law and a paper on permeation."""

from datetime import date

import numpy as np
import pytest

from scheduler.physics.tyres.age import weeks_made
from scheduler.physics.tyres.pressure import gauge_at_kpa, leak_per_day, leak_speed, pressure_after_kpa
from scheduler.physics.tyres.tyres import LEAK_PER_10_K, LEAK_PER_MONTH
from scheduler.vocabulary.units import DAYS_PER_MONTH, KPA_PER_PSI
from tests.scheduler.published.tables import celsius_from_fahrenheit, columns, rows

TODAY = date(2026, 11, 25)


@pytest.mark.parametrize("row", rows("tyre_date_codes"), ids=lambda row: row["code"])
def test_a_four_digit_code_names_one_week(row):
    (made,) = weeks_made(row["code"], TODAY)
    assert (made.first.isoformat(), made.last.isoformat()) == (row["first"], row["last"])


def test_pressure_follows_temperature_by_the_gas_law():
    table = columns("gauge_and_temperature")
    computed = gauge_at_kpa(table["gauge_kpa"], table["from_c"], table["to_c"])
    np.testing.assert_allclose(computed, table["expected_kpa"], atol=0.01)


def test_the_leak_at_70_f_spans_the_papers_range():
    paper = columns("permeation")
    air_c = celsius_from_fahrenheit(paper["air_f"][0])
    tyre_kpa = 32 * KPA_PER_PSI  # the pressure at which the trade's psi a month is meant
    leak = leak_per_day(LEAK_PER_MONTH.range) * leak_speed(air_c)
    lost_psi = (tyre_kpa - pressure_after_kpa(tyre_kpa, leak, DAYS_PER_MONTH)) / KPA_PER_PSI
    assert lost_psi[0] < paper["low_psi"][0] < lost_psi[1] < paper["high_psi"][0] < lost_psi[2] * 1.05


def test_the_factor_for_10_k_spans_the_papers_two_temperatures():
    paper = columns("permeation")
    cool_c, warm_c = celsius_from_fahrenheit(paper["air_f"])
    for factor, cool_psi in ((LEAK_PER_10_K.range[2], 0.75), (LEAK_PER_10_K.range[0], 1.0)):
        warmer = cool_psi * factor ** ((warm_c - cool_c) / 10)
        assert warmer == pytest.approx(paper["low_psi"][1], abs=0.01)


def test_two_per_cent_a_month_halves_nothing_in_a_year():
    year = pressure_after_kpa(220.0, leak_per_day(0.02), DAYS_PER_MONTH * np.array([3, 6, 12]))
    np.testing.assert_allclose(year, [207.1, 194.9, 172.6], atol=0.05)
