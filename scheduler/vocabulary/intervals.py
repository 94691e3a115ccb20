"""Intervals as keepers write them: a number and a unit of the calendar, or never."""

import re

from scheduler.vocabulary.errors import BadInput
from scheduler.vocabulary.units import DAYS_PER_MONTH, DAYS_PER_YEAR

NEVER = "never"
DAYS = {"day": 1.0, "week": 7.0, "month": DAYS_PER_MONTH, "year": DAYS_PER_YEAR}
LONGEST_YEARS = 30.0
WRITTEN = re.compile(r"([1-9]\d{0,3}) (day|week|month|year)s?", re.ASCII)
SAY = "write a number and a unit, such as “24 months”"


def write_interval(number: int, unit: str) -> str:
    """The interval as it is kept: "1 month", "24 months"; ``unit`` is one of ``DAYS``.

    BadInput where there is no such interval.

    >>> write_interval(24, "month")
    '24 months'
    """
    text = f"{number} {unit}" if number == 1 else f"{number} {unit}s"
    interval_days(text)
    return text


def read_interval(text: str) -> tuple[int, str]:
    """Number and unit of an interval that is not ``NEVER``; BadInput where it is none, or beyond 30 years."""
    match = WRITTEN.fullmatch(text)
    if match is None:
        raise BadInput("interval", SAY)
    number, unit = int(match[1]), match[2]
    if number * DAYS[unit] > LONGEST_YEARS * DAYS_PER_YEAR:
        raise BadInput("interval", f"give at most {LONGEST_YEARS:g} years")
    return number, unit


def interval_days(text: str) -> float:
    """An interval in days, a month as the mean of the calendar; BadInput where it is none.

    >>> interval_days("2 weeks")
    14.0
    """
    number, unit = read_interval(text)
    return number * DAYS[unit]
