"""Tyre age: read from the date code on the sidewall, counted from manufacture, never from fitting.

What happens: rubber hardens and cracks by heat and oxygen whether or not the tyre is used, the
spare included. The code is the last group of the tyre identification number (49 CFR 574.5): four
digits are week and year (64 FR 36807, required from July 2000), three are week and last digit of
the year and say nothing of the decade, so they give several dates and never one.

Week 01 is the first full week of the year, from its first Sunday; a week belongs to the year in
which its Sunday falls, so some years have a week 53.
"""

import re
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
import numpy.typing as npt

from scheduler.vocabulary.constants import Constant, Standing
from scheduler.vocabulary.errors import BadInput
from scheduler.vocabulary.units import DAYS_PER_YEAR

FIRST_CODED_YEAR, LAST_THREE_DIGIT_YEAR = 1971, 2000
EARLY_FOUR_DIGIT_YEAR = 99  # four digits were allowed from the rule of July 1999
SUNDAY = 6  # date.weekday()

WATCH_FROM = Constant(5.0, "years", "tyre makers: inspect yearly from five years", Standing.FROM_MEMORY)
INSPECT_FROM = Constant(
    6.0, "years", "NHTSA consumer advisory, June 2008: some makers say 6 to 10 years", Standing.PUBLISHED
)
REPLACE_FROM = Constant(
    10.0,
    "years",
    "UK DfT: no tyre over 10 years on steered axles of heavy goods vehicles and "
    "buses from 1 Feb 2021; NHTSA advisory 2008: upper end of makers' limits",
    Standing.PUBLISHED,
)
AGE_BANDS = ("sound by age", "watch", "inspect yearly", "replace for road use")


@dataclass(frozen=True)
class MadeWeek:
    """The seven days in which a tyre was made."""

    first: date
    last: date


def _week(year: int, week: int) -> MadeWeek | None:
    new_year = date(year, 1, 1)
    first = new_year + timedelta((SUNDAY - new_year.weekday()) % 7 + 7 * (week - 1))
    return MadeWeek(first, first + timedelta(6)) if week >= 1 and first.year == year else None


def _years(digits: str) -> list[int]:
    if len(digits) == 4:
        end = int(digits[2:])
        return [1900 + end if end == EARLY_FOUR_DIGIT_YEAR else 2000 + end]
    return [y for y in range(FIRST_CODED_YEAR, LAST_THREE_DIGIT_YEAR + 1) if y % 10 == int(digits[2])]


def weeks_made(code: str, today: date) -> tuple[MadeWeek, ...]:
    """The weeks a date code can mean, oldest first: one for four digits, several for three.

    ``code`` is the date code or a whole tyre identification number that ends in it. BadInput: it does not,
    or means no week, or one to come.

    >>> weeks_made("2318", date(2026, 11, 25))[0].first.isoformat()
    '2018-06-10'
    """
    match = re.search(r"(?:^|\s)(\d{3,4})$", code.strip())
    if not match:
        raise BadInput("date_code", "must end in the 3 or 4 digits of week and year, as 2318")
    weeks = [made for year in _years(match[1]) if (made := _week(year, int(match[1][:2])))]
    if not weeks:
        raise BadInput("date_code", f"{match[1]} has no week {match[1][:2]} in its year")
    past = tuple(made for made in weeks if made.first <= today)
    if not past:
        raise BadInput("date_code", f"{match[1]} lies in the future")
    return past


def age_years(made_day: npt.ArrayLike, today: npt.ArrayLike) -> npt.NDArray[np.float64]:
    """Age in years on ``today`` of what was made on ``made_day``: ordinals, NaN unknown; shapes broadcast."""
    return np.asarray((np.asarray(today, float) - np.asarray(made_day, float)) / DAYS_PER_YEAR)


def age_band(years: npt.ArrayLike) -> npt.NDArray[np.int64]:
    """Position in ``AGE_BANDS`` for an age in years, any shape; -1 where not known."""
    years = np.asarray(years, float)
    limits = [WATCH_FROM.value, INSPECT_FROM.value, REPLACE_FROM.value]
    return np.where(np.isnan(years), -1, np.digitize(np.nan_to_num(years), limits))
