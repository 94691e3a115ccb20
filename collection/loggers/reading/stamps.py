"""Stamps as seconds: the many ways in which a clock time is written, a whole column at once.

The numbers of a stamp are taken apart first; which of them is the day is decided from all of them.
"""

import re
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import polars as pl

Floats = npt.NDArray[np.float64]

LONGEST = 60  # characters of a stamp, or of a number that stands for one
_DATE = r"(\d{1,4})(?:[-/.]\s?|[ ,]+)(\d{1,2})(?:[-/.]\s?|[ ,]+)(\d{1,4})"
# What may be missing takes the blanks before it along: no two runs of blanks ever stand side by side.
_TIME = r"(\d{1,2})[:.h](\d{2})(?:[:.](\d{2}(?:[.,]\d{1,9})?))?(?:\s*([AaPp])\.?\s?[Mm]\.?)?"
# Behind a date a time may stand without any mark; alone it would be a figure.
_TIME_BEHIND = _TIME.replace("[:.h]", "[:.h]?", 1).replace("[:.](", "[:.]?(", 1)
_OFFSET = r"(?:\s*(?:([Zz]|UTC|GMT)|([+-])(\d{2}):?(\d{2})?))?"
STAMP = rf"^\s*{_DATE}(?:[ Tt,;]+{_TIME_BEHIND})?{_OFFSET}\s*$"
COMPACT = r"^\s*(\d{4})(\d{2})(\d{2})[ Tt]?(\d{2})(\d{2})(\d{2})?\s*$"
CLOCK = re.compile(rf"^\s*{_TIME}\s*$")
BARE_CLOCK = re.compile(r"\s*([01]\d|2[0-4])([0-5]\d)([0-5]\d)?\s*")
CALLED_CLOCK = re.compile(r"(?i)time|clock|hour|zeit|uhr|heure|ora\b|hora")
# Clocks of loggers that name their summer time, ahead of UTC; a name that stands for two places is not here.
ABBREVIATIONS = {
    "CEST": "+02:00", "CET": "+01:00", "MESZ": "+02:00", "MEZ": "+01:00", "WEST": "+01:00", "WET": "+00:00",
    "EEST": "+03:00", "EET": "+02:00", "BST": "+01:00", "EDT": "-04:00", "EST": "-05:00", "CDT": "-05:00",
    "MDT": "-06:00", "MST": "-07:00", "PDT": "-07:00", "PST": "-08:00", "AEDT": "+11:00", "AEST": "+10:00",
    "NZDT": "+13:00", "NZST": "+12:00",
}  # fmt: skip
MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
CHUNK = 250_000  # rows at once: what they are taken apart into need not all be held
MONTHS_A_YEAR, DAYS_A_MONTH, HOURS_A_DAY, HALF_A_DAY = 12, 31, 24, 12
CENTURY = 100
_DAY_S = 86400.0
# When a bare number is a moment: 2000 to 2100, by what is counted from where.
EPOCH_S, EPOCH_MS, SERIAL = (9.4e8, 4.2e9), (9.4e11, 4.2e12), (36526.0, 73051.0)
SERIAL_OF_1970 = 25569.0  # a spreadsheet counts days from 30 December 1899


@dataclass(frozen=True)
class Parts:
    """The numbers of each stamp (m,), NaN where a row has none: three of the date, then the time.

    ``offset_s`` is what the stamp itself says to stand before UTC, NaN where it says nothing.
    """

    first: Floats
    second: Floats
    third: Floats
    day_s: Floats
    offset_s: Floats


def is_stamp(text: str) -> bool:
    """Whether a cell alone is a date, with or without a time."""
    if len(text) > LONGEST:
        return False
    return (
        bool(re.match(STAMP, _numbered_text(text)) or re.match(COMPACT, text)) or order_of_number(text) != ""
    )


def is_clock(text: str) -> bool:
    """Whether a cell can be a time without a date: 7.45 can, 7.95 cannot."""
    match = CLOCK.match(text) if len(text) <= LONGEST else None
    return match is not None and int(match[1]) <= HOURS_A_DAY and int(match[2]) < 60


def is_bare_clock(text: str) -> bool:
    """Whether a cell may be a time written without a mark: 0745."""
    return len(text) <= LONGEST and BARE_CLOCK.fullmatch(text) is not None


def may_be_a_value(text: str) -> bool:
    """Whether a time is written as a figure may be: 7.45."""
    return bool(re.fullmatch(r"\s*\d{1,2}\.\d{2}\s*", text[:LONGEST]))


def order_of_number(text: str) -> str:
    """What a bare number counts, if it can be a moment of this century; empty if it cannot."""
    if len(text) > LONGEST:
        return ""
    try:
        number = float(text.strip().replace(",", "."))
    except ValueError:
        return ""
    spans = {"epoch_s": EPOCH_S, "epoch_ms": EPOCH_MS, "serial": SERIAL}
    return next((order for order, (low, high) in spans.items() if low <= number < high), "")


def _numbered_text(text: str) -> str:
    for number, name in enumerate(MONTHS, 1):
        text = re.sub(rf"(?i)\b{name}[a-z]*\.?", f"{number:02}", text)
    for name, offset in ABBREVIATIONS.items():
        text = re.sub(rf"\b{name}$", offset, text.rstrip())
    return text


def counted(column: pl.Series, order: str) -> Floats:
    """Moments (m,) in seconds since 1970 from bare numbers."""
    number = column.str.strip_chars().str.replace(",", ".", literal=True).cast(pl.Float64, strict=False)
    value = number.to_numpy().astype(float)
    if order == "serial":
        return np.asarray(np.round((value - SERIAL_OF_1970) * _DAY_S))
    return np.asarray(value / 1000.0 if order == "epoch_ms" else value)


def parts_of(column: pl.Series, *, compact: bool) -> Parts:
    """The stamps of a column taken apart."""
    chunks = [_parts(column.slice(start, CHUNK), compact) for start in range(0, len(column), CHUNK)]
    return Parts(*(np.concatenate(each) for each in zip(*(vars(c).values() for c in chunks), strict=True)))


def _parts(column: pl.Series, compact: bool) -> Parts:
    groups = _numbered(column).str.extract_groups(COMPACT if compact else STAMP).struct.unnest()
    number = [_number(groups[name]) for name in groups.columns[:6]]
    first, second, third, hour, minute, tick = number
    half = np.full(first.size, np.nan)
    offset = half.copy()
    if not compact:
        half = np.where(groups["7"].is_in(["p", "P"]).fill_null(value=False).to_numpy(), HALF_A_DAY, 0.0)
        half[groups["7"].is_null().to_numpy()] = np.nan
        offset = _offset(groups)
    hour = np.where(np.isnan(half), hour, hour % HALF_A_DAY + half)
    wrong = (hour > HOURS_A_DAY) | (minute > 59) | (tick >= 62)  # leap seconds come as 60
    first = np.where(wrong, np.nan, first)
    day_s = np.nan_to_num(hour) * 3600.0 + np.nan_to_num(minute) * 60.0 + np.nan_to_num(tick)
    return Parts(first, second, third, day_s, offset)


def _numbered(column: pl.Series) -> pl.Series:
    """Names of months as their numbers, where there are names at all."""
    if not column.head(1000).str.contains(r"(?i)[a-z]{3}").any():
        return column
    for number, name in enumerate(MONTHS, 1):
        column = column.str.replace(rf"(?i)\b{name}[a-z]*\.?", f"{number:02}")
    for name, offset in ABBREVIATIONS.items():
        column = column.str.replace(rf"\b{name}\s*$", offset)
    return column


def _number(column: pl.Series) -> Floats:
    text = column.str.replace(",", ".", literal=True)
    return text.cast(pl.Float64, strict=False).to_numpy().astype(float)


def _offset(groups: pl.DataFrame) -> Floats:
    zulu = groups["8"].is_not_null().to_numpy()
    seconds = _number(groups["10"]) * 3600.0 + np.nan_to_num(_number(groups["11"])) * 60.0
    sign = np.where((groups["9"] == "-").fill_null(value=False).to_numpy(), -1.0, 1.0)
    return np.where(zulu, 0.0, sign * seconds)


def order_of(parts: Parts) -> tuple[str, bool]:
    """Which number is the day, from all of them, and whether that had to be guessed."""
    known = ~np.isnan(parts.first)
    first, second = parts.first[known], parts.second[known]
    if not first.size or first.max() > DAYS_A_MONTH:
        return "ymd", False
    if first.max() > MONTHS_A_YEAR:
        return "dmy", False
    if second.max() > MONTHS_A_YEAR:
        return "mdy", False
    steps = {order: _unsteady(moments(parts, order)) for order in ("dmy", "mdy")}
    if steps["dmy"] == steps["mdy"]:
        return "dmy", True
    return min(steps, key=lambda order: steps[order]), False


def _unsteady(moment: Floats) -> int:
    """How many times the clock steps back, or ahead by more than two days."""
    step = np.diff(moment[~np.isnan(moment)])
    return int(((step < 0) | (step > 2 * _DAY_S)).sum())


def moments(parts: Parts, order: str) -> Floats:
    """Seconds (m,) of the clock that wrote them, since 1970 on that clock; NaN where no such day is."""
    places = {"ymd": (0, 1, 2), "compact": (0, 1, 2), "dmy": (2, 1, 0), "mdy": (2, 0, 1)}[order]
    columns = (parts.first, parts.second, parts.third)
    year, month, day = (columns[place] for place in places)
    year = np.where(year < CENTURY, year + 2000.0, year)
    good = (
        ~np.isnan(parts.first) & (month >= 1) & (month <= MONTHS_A_YEAR) & (day >= 1) & (day <= DAYS_A_MONTH)
    )
    good &= (year >= 1900) & (year < 2200)
    months = np.where(good, (year - 1970.0) * MONTHS_A_YEAR + month - 1.0, 0.0).astype(np.int64)
    begin = months.astype("M8[M]").astype("M8[D]").astype(np.int64)
    length = (months + 1).astype("M8[M]").astype("M8[D]").astype(np.int64) - begin
    good &= np.nan_to_num(day, nan=99.0) <= length
    return np.where(good, (begin + np.nan_to_num(day) - 1.0) * _DAY_S + parts.day_s, np.nan)
