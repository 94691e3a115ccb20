"""Dates as people write them; whether the day or the month comes first is decided for a whole column."""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta

from dateutil import parser

from collection.spreadsheets.sheets.cells import Cell, shown, text_of

DMY, MDY, ASK, NONE = "dmy", "mdy", "ask", ""
EPOCH = date(1899, 12, 30)  # day nought of a spreadsheet's count (ECMA-376-1, 18.17.4.1)
SERIALS = (3_000, 80_000)  # 1908 to 2119: below, a number is a year
DAY, MONTH, YEAR = "day", "month", "year"  # how finely a date is known

LONGEST = 80  # signs of a date with a time
# Each run is taken once and not given back.
_CLOCK = re.compile(
    r"(?:^|(?<=[T ,]))(\d{1,2}):(\d{2})(?::(\d{2})(\.\d+)?)?+\s*+"
    r"(?:([ap]\.?m\.?)\s*+)?(Z|[+-]\d{2}:?\d{2})?$",
    re.I,
)
_JOINT = re.compile(r"(?<=\d)T$", re.I)
_ISO = re.compile(r"^(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})$")
_THREE = re.compile(r"^(\d{1,2})[-/. ](\d{1,2})[-/. ](\d{4}|\d{2})$")
_COMPACT = re.compile(r"^(19|20)\d{2}(0[1-9]|1[0-2])([0-2]\d|3[01])$")
_MONTH_YEAR = re.compile(r"^(\d{1,2})[-/.](\d{4})$|^(\d{4})[-/.](\d{1,2})$")
_YEAR = re.compile(r"^(?:c\.?|ca\.?|circa)?\s*(18[89]\d|19\d\d|20\d\d)$", re.I)
_NAMES = "jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec"
_PLAIN = re.compile(r"[\s\d,.'’\-/a-z]*", re.I)
_MONTH = re.compile(rf"\b({_NAMES})[a-z]*\b", re.I)
_LOOSE = re.compile(rf"^({_NAMES})[a-z]*[\s,.'’\-/]*(\d{{4}}|\d{{2}})$", re.I)


@dataclass(frozen=True)
class Read:
    """A date, how finely it is known, and the time of day if one stood there."""

    day: date
    fine: str = DAY
    clock: time | None = None  # with its zone where one was written


def date_order(cells: Iterable[Cell]) -> str:
    """Day or month first in this column; ASK when every row can be read both ways or they disagree."""
    first_over = second_over = doubtful = False
    for cell in cells:
        match = _THREE.match(_split_clock(text_of(cell))[0]) if isinstance(cell, str) else None
        if not match:
            continue
        first, second = int(match[1]), int(match[2])
        first_over |= first > 12
        second_over |= second > 12
        doubtful |= first <= 12 and second <= 12 and first != second
    if first_over and second_over:
        return ASK if doubtful else DMY
    if first_over or second_over:
        return DMY if first_over else MDY
    return ASK if doubtful else NONE


def looks_like_a_date(cell: Cell) -> bool:
    """Whether a cell is a date in one way of reading at least."""
    if isinstance(cell, date):
        return True
    if not isinstance(cell, str) or _YEAR.match(cell.strip()):
        return False
    return any(_maybe(cell, order) is not None for order in (DMY, MDY))


def _maybe(cell: Cell, order: str) -> Read | None:
    try:
        return read_date(cell, order)
    except ValueError:
        return None


def read_date(cell: Cell, order: str) -> Read:
    """The date that a cell gives; ValueError says what to write instead."""
    if isinstance(cell, datetime):
        clock = cell.timetz() if cell.time() != time() or cell.tzinfo else None
        return Read(cell.date(), DAY, clock)
    if isinstance(cell, date):
        return Read(cell)
    if isinstance(cell, int | float) and not isinstance(cell, bool):
        return _counted(float(cell))
    text, clock = _split_clock(text_of(cell))
    day, fine = _day(text, order)
    return Read(day, fine, clock)


def _counted(value: float) -> Read:
    if 1885 <= value <= 2100 and value.is_integer():
        return Read(date(int(value), 1, 1), YEAR)
    if 1e7 < value < 1e8 and _COMPACT.match(f"{value:.0f}"):
        return Read(*_day(f"{value:.0f}", DMY))
    if not SERIALS[0] <= value <= SERIALS[1]:
        raise ValueError(f"{value:g} is no date: write it like 31 Mar 2024")
    days, rest = divmod(value, 1)
    clock = _clock_of(rest)
    return Read(EPOCH + timedelta(days=int(days)), DAY, clock if rest else None)


def _clock_of(share: float) -> time:
    """The time of day of a share of the day."""
    midnight = datetime(2000, 1, 1, tzinfo=UTC)
    return (midnight + timedelta(seconds=round(share * 86_400) % 86_400)).time()


def _day(text: str, order: str) -> tuple[date, str]:
    if match := _ISO.match(text):
        return _made(text, int(match[1]), int(match[2]), int(match[3])), DAY
    if match := _THREE.match(text):
        first, second = int(match[1]), int(match[2])
        swap = first <= 12 and (order == MDY or second > 12)
        day, month = (second, first) if swap else (first, second)
        return _made(text, _century(match[3]), month, day), DAY
    if _COMPACT.match(text):
        return _made(text, int(text[:4]), int(text[4:6]), int(text[6:])), DAY
    return _coarse(text)


def _coarse(text: str) -> tuple[date, str]:
    if match := _MONTH_YEAR.match(text):
        month, year = (match[1], match[2]) if match[1] else (match[4], match[3])
        return _made(text, int(year), int(month), 1), MONTH
    if match := _YEAR.match(text):
        return date(int(match[1]), 1, 1), YEAR
    if match := _LOOSE.match(text):
        month = _NAMES.split("|").index(match[1].lower()) + 1
        return _made(text, _century(match[2]), month, 1), MONTH
    if len(text) <= LONGEST and _PLAIN.fullmatch(text) and _MONTH.search(text):
        try:
            return parser.parse(text, dayfirst=True, default=datetime(1, 1, 1, tzinfo=UTC)).date(), DAY
        except (ValueError, OverflowError) as error:
            raise ValueError(f"“{shown(text)}” is no date: write it like 31 Mar 2024") from error
    raise ValueError(f"“{shown(text)}” is no date: write it like 31 Mar 2024")


def _made(text: str, year: int, month: int, day: int) -> date:
    try:
        return date(year, month, day)
    except ValueError as error:
        raise ValueError(f"“{text}” is not in the calendar: check day and month") from error


def _century(year: str) -> int:
    """Two figures: up to 40 are of this century (policy: nobody plans longer, most cars are older)."""
    value = int(year)
    return value if len(year) == 4 else value + (2000 if value <= 40 else 1900)


def read_time(cell: Cell) -> time:
    """A time of day; ValueError says what to write instead."""
    if isinstance(cell, datetime):
        return cell.timetz()
    if isinstance(cell, time):
        return cell
    if isinstance(cell, float) and 0 <= cell < 1:
        return _clock_of(cell)
    rest, clock = _split_clock(text_of(cell))
    if clock is None or rest:
        raise ValueError(f"“{shown(cell)}” is no time of day: write it like 14:30")
    return clock


def _split_clock(text: str) -> tuple[str, time | None]:
    match = _CLOCK.search(text) if len(text) <= LONGEST else None
    if not match:
        return text.strip(), None
    hour, minute = int(match[1]), int(match[2])
    if match[5]:
        hour = hour % 12 + (12 if match[5].lower().startswith("p") else 0)
    if hour > 23 or minute > 59 or int(match[3] or 0) > 59:
        return text.strip(), None
    micro = round(float(match[4] or 0) * 1e6) % 1_000_000
    zone = datetime.fromisoformat(f"2000-01-01T00:00{match[6]}").tzinfo if match[6] else None
    before = _JOINT.sub("", text[: match.start()].rstrip(" ,")).strip()
    return before, time(hour, minute, int(match[3] or 0), micro, zone)
