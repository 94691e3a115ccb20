"""Date codes moulded into tyres and stamped on batteries, with every date they can mean.

Tyres: from 2000 four digits, week and year (WWYY); before, three digits, week and last digit of the
year (WWY), which leaves the decade open. Batteries: a letter for the month (A to L; some makers skip
I and end at M) and one digit for the year, which leaves the decade open too.
"""

from dataclasses import dataclass
from datetime import date, timedelta

from scheduler.vocabulary.constants import Constant, Standing
from scheduler.vocabulary.errors import BadInput

FIRST_TYRE_CODE = date(1971, 5, 22)  # US tyre identification rule in force (from memory, unverified)
FIRST_FOUR_DIGIT_YEAR = 2000  # common practice
LAST_WEEK, DAYS_PER_WEEK, YEARS_PER_DECADE = 53, 7, 10
TRIANGLE_DECADE = 1990  # a triangle after three digits (from memory, unverified)
EARLIEST_BATTERY = Constant(
    1950.0, "year", "no car of interest keeps an older battery with such a code", Standing.POLICY
)
MONTHS_WITH_I, MONTHS_WITHOUT_I = "ABCDEFGHIJKL", "ABCDEFGHJKLM"


@dataclass(frozen=True, slots=True)
class Span:
    """A date known to lie between two days, and what it rests on."""

    first: date
    last: date
    text: str


def read_tyre_code(code: str, today: date, *, triangle: bool = False) -> tuple[Span, ...]:
    """Every week that the last digits of a tyre's code can mean, oldest first.

    ``triangle``: one is moulded beside three digits. BadInput: not 3 or 4 digits, no week, or one to come.

    >>> read_tyre_code("2318", date(2026, 11, 25))[0].first.isoformat()
    '2018-06-04'
    """
    digits = "".join(code.split())
    if not digits.isdecimal() or len(digits) not in (3, 4):
        raise BadInput("code", f"{code!r}: type the three or four digits at the end of the tyre's code")
    week = int(digits[:2])
    if not 1 <= week <= LAST_WEEK:
        raise BadInput("code", f"{code!r}: the first two digits are a week, 01 to {LAST_WEEK}")
    spans = tuple(_week(year, week) for year in _tyre_years(digits, triangle=triangle))
    possible = tuple(span for span in spans if span.last >= FIRST_TYRE_CODE and span.first <= today)
    if not possible:
        raise BadInput("code", f"{code!r}: that week has not come yet, or lies before such codes existed")
    return possible


def _tyre_years(digits: str, *, triangle: bool) -> list[int]:
    if len(digits) == 4:
        return [FIRST_FOUR_DIGIT_YEAR + int(digits[2:])]
    decades = [TRIANGLE_DECADE] if triangle else range(1970, FIRST_FOUR_DIGIT_YEAR, YEARS_PER_DECADE)
    return [decade + int(digits[2]) for decade in decades]


def _week(year: int, week: int) -> Span:
    """Generous by a week at the end, because makers number weeks differently."""
    first = date(year, 1, 1) + timedelta(days=DAYS_PER_WEEK * (week - 1))
    return Span(first, first + timedelta(days=2 * DAYS_PER_WEEK - 1), f"week {week} of {year}")


def read_battery_code(code: str, today: date) -> tuple[Span, ...]:
    """Every month that a battery's letter and digit can mean, oldest first.

    BadInput: it is not a letter A to M and one digit.
    """
    tidy = "".join(code.split()).upper()
    if len(tidy) != 2 or not tidy[1].isdecimal() or tidy[0] not in MONTHS_WITH_I + MONTHS_WITHOUT_I:
        raise BadInput("code", f"{code!r}: type a letter A to M and one digit, such as C7")
    months = {
        alphabet.index(tidy[0]) + 1 for alphabet in (MONTHS_WITH_I, MONTHS_WITHOUT_I) if tidy[0] in alphabet
    }
    decades = range(int(EARLIEST_BATTERY.value), today.year + 1, YEARS_PER_DECADE)
    spans = (_month(decade + int(tidy[1]), month) for decade in decades for month in sorted(months))
    return tuple(span for span in spans if span.first <= today)


def _month(year: int, month: int) -> Span:
    first = date(year, month, 1)
    return Span(first, month_end(first), f"{first:%B %Y}")


def month_end(day: date) -> date:
    """The last day of the month that ``day`` lies in."""
    return date(day.year + day.month // 12, day.month % 12 + 1, 1) - timedelta(days=1)
