"""Numbers as people type them: a point or a comma for the decimals."""

import pytest
from django.core.exceptions import ValidationError

from collection.web.measures import MeasureField, NumberField
from collection.web.units import edge


@pytest.mark.parametrize(
    ("typed", "number"),
    [
        ("12,6", 12.6),
        ("12.6", 12.6),
        ("-3,5", -3.5),
        ("0,250", 0.25),
        (" 7 ", 7),
        ("1,2345", 1.2345),
        ("", None),
    ],
)
def test_a_comma_is_a_decimal_sign(typed: str, number: float | None) -> None:
    assert NumberField(required=False).clean(typed) == number


@pytest.mark.parametrize("typed", ["1,250.5", "12,6,3", "1,", ",5", "12,6 V", "nan", "٣,٥"])
def test_what_is_no_number_is_refused(typed: str) -> None:
    with pytest.raises(ValidationError, match="Enter a number"):
        NumberField().clean(typed)


def test_a_comma_that_can_be_read_in_two_ways_is_asked_again() -> None:
    with pytest.raises(ValidationError, match=r"1,250 can be 1250 or 1\.25"):
        NumberField().clean("1,250")


def test_the_limits_decide_where_they_allow_one_reading_only() -> None:
    gravity = MeasureField(name="Gravity", stored_as="kg/l", low=1.0, high=1.4)
    assert gravity.clean("1,265") == 1.265
    odometer = MeasureField(name="Odometer", stored_as="km", low=100.0, high=1e6)
    odometer.use_units(edge("british"))
    assert odometer.clean("1,250") == pytest.approx(1250 * 1.609344)
    assert NumberField(max_value=24).clean("1,250") == 1.25
