"""Chassis numbers: what a 17-character number says of itself, as warnings and never as a refusal.

The check digit is a rule of North America from 1981 on (49 CFR 565.15); elsewhere position 9 is
free, and before 1981 the number is whatever the maker stamped. So a number that fails is shown
with a warning and kept as typed.
"""

from dataclasses import dataclass

import numpy as np

LENGTH = 17
LETTERS, THEIR_VALUES = "ABCDEFGHJKLMNPRSTUVWXYZ", "12345678123457923456789"
LETTER_VALUES = {letter: int(value) for letter, value in zip(LETTERS, THEIR_VALUES, strict=True)}
VALUES = LETTER_VALUES | {str(digit): digit for digit in range(10)}
WEIGHTS = np.array([8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2])
MODULUS = 11
CHECK_POSITION, YEAR_POSITION, ERA_POSITION = 8, 9, 6  # from 0
YEAR_CODES = "ABCDEFGHJKLMNPRSTVWXY123456789"  # 1980 to 2009, then again from 2010
FIRST_YEAR, YEAR_CYCLE = 1980, 30
NORTH_AMERICA = "12345"  # first character of numbers given out there


@dataclass(frozen=True)
class ChassisNumber:
    """A number as read: tidied, the model years it can mean, and what looks wrong with it."""

    text: str
    model_years: tuple[int, ...]
    warnings: tuple[str, ...]


def check_character(text: str) -> str:
    """The character that position 9 should hold: the weighted sum modulo 11, X for 10."""
    remainder = weighted_sum(text) % MODULUS
    return "X" if remainder == MODULUS - 1 else str(remainder)


def weighted_sum(text: str) -> int:
    """Sum of value times weight over the 17 characters; position 9 counts for nothing."""
    return int(np.dot(WEIGHTS, [VALUES.get(character, 0) for character in text]))


def model_years(text: str, light_vehicle: bool) -> tuple[int, ...]:
    """Years that position 10 can mean; for a light vehicle position 7 tells the two cycles apart."""
    code = YEAR_CODES.find(text[YEAR_POSITION])
    if code < 0:
        return ()
    first, second = FIRST_YEAR + code, FIRST_YEAR + YEAR_CYCLE + code
    if not light_vehicle:
        return (first, second)
    return (second,) if text[ERA_POSITION].isalpha() else (first,)


def read_chassis_number(
    typed: str, model_year: int | None = None, *, light_vehicle: bool = True
) -> ChassisNumber:
    """What a chassis number says; free text (before 1981, or not 17 characters) is kept untouched."""
    text = "".join(typed.split()).upper()
    if not text:
        return ChassisNumber("", (), ())
    if len(text) != LENGTH:
        modern = model_year is not None and model_year > FIRST_YEAR
        warning = f"has {len(text)} characters; from 1981 a chassis number has {LENGTH}: read it again"
        return ChassisNumber(typed.strip(), (), (warning,) if modern else ())
    years = model_years(text, light_vehicle) if text[0] in NORTH_AMERICA else ()
    return ChassisNumber(text, years, tuple(_doubts(text, years, model_year)))


def _doubts(text: str, years: tuple[int, ...], model_year: int | None) -> list[str]:
    doubts = []
    if strange := sorted({character for character in text if character not in VALUES}):
        doubts.append(f"holds {', '.join(strange)}: I, O, Q and signs are not used; read 1 and 0 again")
    elif text[0] in NORTH_AMERICA and text[CHECK_POSITION] != check_character(text):
        doubts.append(
            f"position 9 is {text[CHECK_POSITION]}, the North American rule gives {check_character(text)}: "
            "read it again"
        )
    if years and model_year is not None and model_year not in years:
        stands_for = " or ".join(map(str, years))
        doubts.append(f"position 10 stands for {stands_for}, the record says {model_year}")
    return doubts
