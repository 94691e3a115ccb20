"""What each column of a logger's file holds: by its heading, else by what its figures can be."""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import polars as pl

from collection.loggers.reading.layout import NONE
from collection.loggers.reading.numbers import numbers

LOOKED_AT = 5000
# The surer words of a heading are looked for in all columns before the others.
WORDS = {
    "dew_point": (r"dew|taupunkt|ros[ée]e|tau?p\b",),
    "humidity": (r"hum|\br\.?h\.?\b|feucht|rel\w*\.? ?h", r"%"),
    "temperature": (
        r"temp|dry.?bulb|celsius|fahrenheit|°|º",
        r"\bdeg\.?\s*[cf]\b|\([cf]\)|^t$|^t\d|_t$|_[cf]$",
    ),
    "volts": (r"volt|spannung|\(m?v\)|\bm?v\b", r"\bbatt"),
}
NOT_AIR = (
    r"batt|volt|rssi|signal|light|lux|press|hpa|index|record|serial|^#|^no\.?$|^nr\.?$|co2|ppm"
    r"|wind|w?dir\b|wdir|wspd|source|uncert|dew|wet.?bulb|soil"
)
FAHRENHEIT = r"°\s*f\b|º\s*f\b|fahrenheit|deg\.?\s*f\b|\(f\)|_f$|\[f\]|, ?f$"
CELSIUS = r"°\s*c\b|º\s*c\b|celsius|deg\.?\s*c\b|\(c\)|_c$|\[c\]|, ?c$"
MILLIVOLTS = r"\bmv\b|millivolt"
TOO_WARM_C = 45.0  # policy: no barn's middle half is warmer, and °F almost always are
NUMERIC = 0.5  # policy: a column of figures may have many holes


@dataclass(frozen=True)
class Seen:
    """A column of figures: its number, its heading, its middle half, and its first value as written."""

    index: int
    name: str
    low: float
    high: float
    counts_up: bool
    sample: str


def figures(frame: pl.DataFrame, names: Sequence[str], decimal: str, besides: Sequence[int]) -> list[Seen]:
    """The columns of figures, in order, without those of stamps."""
    return list(_figures(frame.head(LOOKED_AT), names, decimal, besides))


def _figures(
    head: pl.DataFrame, names: Sequence[str], decimal: str, besides: Sequence[int]
) -> Iterator[Seen]:
    for index, name in enumerate(names):
        if index in besides:
            continue
        column = numbers(head[str(index)], decimal)
        value = column.value[~np.isnan(column.value)]
        if value.size and value.size >= NUMERIC * (value.size + column.words.sum()):
            low, high = np.quantile(value, [0.25, 0.75])
            step = np.diff(value)
            counts = bool(step.size > 2 and (step == 1).mean() > 0.9)
            first = next(text for text in head[str(index)] if text)
            yield Seen(index, name, float(low), float(high), counts, str(first)[:20])


def roles(columns: Sequence[Seen], *, of_battery: bool) -> dict[str, int]:
    """The column of each quantity, -1 for none. The first that fits: the person may choose another."""
    if of_battery:
        volts = _by_words(columns, "volts", "") or _by_span(columns, 2.0, 36.0)
        left = [c for c in columns if c.index != volts]
        warm = _by_words(left, "temperature", NOT_AIR)
        return {"volts": _or_none(volts), "temperature": _or_none(warm), "humidity": NONE, "dew_point": NONE}
    dew = _by_words(columns, "dew_point", "")
    left = [c for c in columns if c.index != dew]
    damp = _by_words(left, "humidity", NOT_AIR)
    left = [c for c in left if c.index != damp]
    warm = _by_words(left, "temperature", NOT_AIR)
    if warm is None:
        warm = _by_span(left, -60.0, 130.0)
    if damp is None and dew is None:
        nameless = [c for c in left if c.index != warm and re.fullmatch(r"Column \d+", c.name)]
        damp = _by_span(nameless, 1.0, 100.0)
    return {
        "temperature": _or_none(warm),
        "humidity": _or_none(damp),
        "dew_point": _or_none(dew),
        "volts": NONE,
    }


def alike(columns: Sequence[Seen], by_role: Mapping[str, int]) -> str:
    """The headings of one quantity, where several columns hold it; empty where none does."""
    for role in ("volts", "temperature"):
        if by_role[role] == NONE:
            continue
        named = [c.name for c in columns if re.search(WORDS[role][0], c.name.lower())]
        named = [name for name in named if role == "volts" or not re.search(NOT_AIR, name.lower())]
        if len(named) > 1:
            return ", ".join(named[:6])
    return ""


def _or_none(index: int | None) -> int:
    return NONE if index is None else index


def _by_words(columns: Sequence[Seen], role: str, but_not: str) -> int | None:
    for words in WORDS[role]:
        for column in columns:
            name = column.name.lower()
            if re.search(words, name) and not (but_not and re.search(but_not, name)):
                return column.index
    return None


def _by_span(columns: Sequence[Seen], low: float, high: float) -> int | None:
    """The first column whose middle half lies within, and which does not merely count its rows."""
    fits = (c for c in columns if low <= c.low <= c.high <= high and not c.counts_up)
    return next((c.index for c in fits if not re.search(NOT_AIR, c.name.lower())), None)


def unit_of(column: Seen | None) -> tuple[str, str]:
    """The unit of a column of temperatures, and the ground on which it was taken."""
    if column is None:
        return "c", ""
    name = column.name.lower()
    for unit, words in (("f", FAHRENHEIT), ("c", CELSIUS)):
        if re.search(words, name):
            return unit, "by the heading"
    if column.high > TOO_WARM_C:
        return "f", "because no place is so warm in °C"
    return "c", "because the figures fit °C; look whether that is so"


def volt_unit_of(column: Seen | None) -> str:
    """Volts or millivolts."""
    if column is None:
        return "v"
    return "mv" if re.search(MILLIVOLTS, column.name.lower()) or column.low > 100.0 else "v"
