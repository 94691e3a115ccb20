"""Chassis numbers: warnings, never refusals."""

import pytest

from scheduler.dating.chassis_number import check_character, read_chassis_number, weighted_sum
from tests.scheduler.published.tables import rows


@pytest.mark.parametrize("row", rows("chassis_numbers"), ids=lambda row: row["number"])
def test_the_published_examples_check(row):
    assert weighted_sum(row["number"]) == int(row["weighted_sum"])
    assert check_character(row["number"]) == row["check"]
    assert row["number"][8] == row["check"]
    assert read_chassis_number(row["number"]).warnings == ()


def test_one_wrong_character_is_warned_of_and_the_number_is_kept():
    read = read_chassis_number("1j9rp1a36a1644346")
    assert read.text == "1J9RP1A36A1644346"
    assert len(read.warnings) == 1
    assert "position 9" in read.warnings[0]


@pytest.mark.parametrize("letter", "IOQ-")
def test_letters_that_are_never_used_are_named(letter):
    assert letter in read_chassis_number(f"1J9RP1A36A16443{letter}5").warnings[0]


def test_position_7_tells_a_light_vehicles_two_cycles_apart():
    assert read_chassis_number("1M8GDM9AXKP042788").model_years == (1989,)
    assert read_chassis_number("1J9RP1A36A1644345").model_years == (2010,)
    assert read_chassis_number("1M8GDM9AXKP042788", light_vehicle=False).model_years == (1989, 2019)


def test_a_year_that_the_number_denies_is_warned_of():
    assert any("2019" in warning for warning in read_chassis_number("1M8GDM9AXKP042788", 2019).warnings)
    assert read_chassis_number("1M8GDM9AXKP042788", 1989).warnings == ()


def test_outside_north_america_no_year_is_read_and_no_check_digit_expected():
    read = read_chassis_number("WXX00000000000000", 1999)
    assert check_character(read.text) != read.text[8]
    assert (read.model_years, read.warnings) == ((), ())


def test_a_number_that_is_not_written_down_is_not_wrong():
    assert read_chassis_number("  ", 1999).warnings == ()


def test_free_text_of_an_old_car_passes_untouched():
    read = read_chassis_number(" AB/1234 ", 1934)
    assert (read.text, read.warnings, read.model_years) == ("AB/1234", (), ())


def test_a_short_number_of_a_modern_car_is_warned_of():
    assert "17" in read_chassis_number("AB1234", 1999).warnings[0]


def test_a_year_code_that_is_never_used_gives_no_year():
    assert read_chassis_number("1J9RP1A36U1644345").model_years == ()
