"""Dates as people write them; whether the day or the month comes first is decided for a whole column."""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta

from collection.spreadsheets.sheets import dictionaries
from collection.spreadsheets.sheets.cells import Cell, shown, text_of
from collection.spreadsheets.sheets.dictionaries import normal

DMY, MDY, ASK, NONE = "dmy", "mdy", "ask", ""
EPOCH = date(1899, 12, 30)  # day nought of a spreadsheet's count (ECMA-376-1, 18.17.4.1)
SERIALS = (3_000, 80_000)  # 1908 to 2119: below, a number is a year
DAY, MONTH, YEAR = "day", "month", "year"  # how finely a date is known
ASK_YEAR = -1
EARLIEST, LATEST = 1885, 2100  # policy: before the first motor car nothing was done to one

LONGEST = 80  # signs of a date with a time
# Each run is taken once and not given back.
_CLOCK = re.compile(
    r"(?:^|(?<=[T ,]))(\d{1,2}):(\d{2})(?::(\d{2})(\.\d+)?)?+\s*+"
    r"(?:([ap]\.?m\.?)\s*+)?(Z|[+-]\d{2}:?\d{2})?$",
    re.I,
)
_JOINT = re.compile(r"(?<=\d)T$", re.I)
_ISO = re.compile(r"^(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})$")
_THREE = re.compile(r"^(\d{1,2})[-/. ](\d{1,2})[-/. ](\d{4}|\d{2})\.?$")
_COMPACT = re.compile(r"^(19|20)\d{2}(0[1-9]|1[0-2])([0-2]\d|3[01])$")
_MONTH_YEAR = re.compile(r"^(\d{1,2})[-/.](\d{4})$|^(\d{4})[-/.](\d{1,2})$")
_YEAR = re.compile(r"^(18[89]\d|19\d\d|20\d\d)$")
_NAMES = "jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec"
_WORD = re.compile(r"[^\W\d_]+\.?")
_DAY_FIRST = re.compile(rf"^(\d{{1,2}})[\s,.'’\-/]*({_NAMES})[\s,.'’\-/]*(\d{{4}}|\d{{2}})?\.?$")
_MONTH_FIRST = re.compile(rf"^({_NAMES})[\s,.'’\-/]*(\d{{1,2}})(?:[\s,'’]+(\d{{4}}|\d{{2}}))?\.?$")
_ISO_NAMED = re.compile(rf"^(\d{{4}})[\s,.'’\-/]*({_NAMES})[\s,.'’\-/]*(\d{{1,2}})$")
_TWO = re.compile(r"^(\d{1,2})(?:[-/](\d{1,2})|\.(\d{1,2})\.)$")  # 7.11 is a number, 7.11. is a day
_LOOSE = re.compile(rf"^({_NAMES})[\s,.'’\-/]*(\d{{4}}|\d{{2}})$", re.I)


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
        text = in_english(_split_clock(text_of(cell))[0]) if isinstance(cell, str) else ""
        match = _THREE.match(text) or _TWO.match(text)
        if not match:
            continue
        first, second = int(match[1]), int(match[2] or match[3])
        first_over |= first > 12 or "." in text  # dots part the day from the month behind it
        second_over |= second > 12
        doubtful |= first <= 12 and second <= 12 and first != second and "." not in text
    if first_over and second_over:
        return ASK if doubtful else DMY
    if first_over or second_over:
        return DMY if first_over else MDY
    return ASK if doubtful else NONE


def lacks_year(cell: Cell) -> bool:
    """Whether a cell gives a day and a month and nothing more."""
    if not isinstance(cell, str) or len(cell) > LONGEST:
        return False
    text = in_english(_split_clock(cell)[0])
    named = _DAY_FIRST.match(text) or _MONTH_FIRST.match(text)
    if named:
        return named[3] is None and not _LOOSE.match(text)
    two = _TWO.match(text)
    return two is not None and 0 < int(two[1]) <= 31 and 0 < int(two[2] or two[3]) <= 31


def looks_like_a_date(cell: Cell) -> bool:
    """Whether a cell is a date in one way of reading at least."""
    if isinstance(cell, date):
        return True
    if not isinstance(cell, str) or _YEAR.match(cell.strip()):
        return False
    return lacks_year(cell) or any(_maybe(cell, order) is not None for order in (DMY, MDY))


def in_english(text: str) -> str:
    """A date in small letters, months by their English three, without the name of its day and what fills."""
    if len(text) > LONGEST:
        return text
    names, days = dictionaries.months(), dictionaries.weekdays()
    several = sum(normal(word) in names for word in _WORD.findall(text)) > 1  # “mar 3 mars”: a Tuesday

    def word(match: re.Match[str]) -> str:
        plain = normal(match[0])
        if plain in names and not (several and plain in days):
            return names[plain]
        return "" if plain in days or plain in _FILLERS else match[0].lower()

    return " ".join(_WORD.sub(word, text).split()).strip(" ,-/")


_FILLERS = frozenset(
    ("de", "del", "the", "of", "st", "nd", "rd", "th", "er", "den", "am", "le", "il", "el", "º")
)


def _maybe(cell: Cell, order: str) -> Read | None:
    try:
        return read_date(cell, order)
    except ValueError:
        return None


def read_date(cell: Cell, order: str, year: int = 0) -> Read:
    """The date that a cell gives; ``year`` where it gives none. ValueError says what to write instead."""
    read = _read(cell, order, year)
    if not EARLIEST <= read.day.year <= LATEST:
        raise ValueError(f"{read.day:%d %b} {read.day.year} cannot be meant: write the year in full")
    return read


def _read(cell: Cell, order: str, year: int) -> Read:
    if isinstance(cell, datetime):
        clock = cell.timetz() if cell.time() != time() or cell.tzinfo else None
        return Read(cell.date(), DAY, clock)
    if isinstance(cell, date):
        return Read(cell)
    if isinstance(cell, int | float) and not isinstance(cell, bool):
        return _counted(float(cell))
    text, clock = _split_clock(text_of(cell))
    day, fine = _day(in_english(text), order, year)
    return Read(day, fine, clock)


def _counted(value: float) -> Read:
    if 1885 <= value <= 2100 and value.is_integer():
        return Read(date(int(value), 1, 1), YEAR)
    if 1e7 < value < 1e8 and _COMPACT.match(f"{value:.0f}"):
        return Read(*_day(f"{value:.0f}", DMY, 0))
    if not SERIALS[0] <= value <= SERIALS[1]:
        raise ValueError(f"{value:g} is no date: write it like 31 Mar 2024")
    days, rest = divmod(value, 1)
    clock = _clock_of(rest)
    return Read(EPOCH + timedelta(days=int(days)), DAY, clock if rest else None)


def _clock_of(share: float) -> time:
    """The time of day of a share of the day."""
    midnight = datetime(2000, 1, 1, tzinfo=UTC)
    return (midnight + timedelta(seconds=round(share * 86_400) % 86_400)).time()


def _day(text: str, order: str, year: int) -> tuple[date, str]:
    if match := _ISO.match(text):
        return _made(text, int(match[1]), int(match[2]), int(match[3])), DAY
    if match := _THREE.match(text):
        month, day = _month_and_day(int(match[1]), int(match[2]), order)
        return _made(text, _century(match[3]), month, day), DAY
    if _COMPACT.match(text):
        return _made(text, int(text[:4]), int(text[4:6]), int(text[6:])), DAY
    return _named(text, order, year) or _coarse(text)


def _month_and_day(first: int, second: int, order: str) -> tuple[int, int]:
    swap = first <= 12 and (order == MDY or second > 12)
    return (first, second) if swap else (second, first)


def _named(text: str, order: str, year: int) -> tuple[date, str] | None:
    """A date whose month is a name, or one without a year."""
    if match := _ISO_NAMED.match(text):
        return _made(text, int(match[1]), _month(match[2]), int(match[3])), DAY
    if match := _LOOSE.match(text):
        return _made(text, _century(match[2]), _month(match[1]), 1), MONTH
    for pattern, month, day in ((_DAY_FIRST, 2, 1), (_MONTH_FIRST, 1, 2)):
        if match := pattern.match(text):
            made = _century(match[3]) if match[3] else _given(text, year)
            return _made(text, made, _month(match[month]), int(match[day])), DAY
    if match := _TWO.match(text):
        month_, day_ = _month_and_day(int(match[1]), int(match[2] or match[3]), order)
        return _made(text, _given(text, year), month_, day_), DAY
    return None


def _month(name: str) -> int:
    return _NAMES.split("|").index(name) + 1


def _given(text: str, year: int) -> int:
    if year <= 0:
        raise ValueError(f"“{shown(text)}” has no year: say which")
    return year


def _coarse(text: str) -> tuple[date, str]:
    if match := _MONTH_YEAR.match(text):
        month, year = (match[1], match[2]) if match[1] else (match[4], match[3])
        return _made(text, int(year), int(month), 1), MONTH
    start, _, rest = text.partition(" ")
    whole = rest if start.strip(".") in dictionaries.about() and rest else text
    if match := _YEAR.match(whole.strip("~≈ .")):
        return date(int(match[1]), 1, 1), YEAR
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
