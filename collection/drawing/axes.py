"""Axes of a drawing: days, categories or numbers, with ticks that people read."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

MONTHS_APART = (1, 2, 3, 6, 12, 24, 60, 120)  # between two ticks
MOST_TICKS = 8
DAYS_A_MONTH, FEW_DAYS = 30.44, 45
STEPS = (1.0, 2.0, 2.5, 5.0, 10.0)


@dataclass(frozen=True)
class Tick:
    """A value of the axis and its words."""

    value: Any
    text: str


@dataclass(frozen=True)
class Axis:
    """From the first value to the last, which lie at ``low`` and ``high`` of the drawing."""

    kind: str  # day, name or number
    first: float
    last: float
    ticks: list[Tick]
    names: tuple[str, ...] = ()
    low: float = 0.0
    high: float = 1.0

    def between(self, low: float, high: float) -> "Axis":
        """The same axis laid between two places."""
        return replace(self, low=low, high=high)

    def at(self, value: Any) -> float:
        """Where a value lies; what is beyond an end lies on it."""
        if self.kind == "name":
            number = self.names.index(str(value)) + 0.5
        else:
            number = _ordinal(value) if self.kind == "day" else float(value)
        share = (number - self.first) / (self.last - self.first)
        return self.low + (self.high - self.low) * min(max(share, 0.0), 1.0)

    @property
    def room(self) -> float:
        """What one category takes."""
        return abs(self.high - self.low) / max(len(self.names), 1)


def axis_of(layout: dict[str, Any], values: Sequence[Any], *, bars: bool = False) -> Axis:
    """The axis for these values as the figure's layout has it; ``bars`` begin at nought."""
    if layout.get("categoryarray") is not None or layout.get("type") == "category" or _are_names(values):
        names = tuple(dict.fromkeys(layout.get("categoryarray") or map(str, values)))
        every = max(1, math.ceil(len(names) / 12)) if layout.get("type") == "category" else 1
        return Axis("name", 0.0, float(len(names) or 1), [Tick(n, n) for n in names[::every]], names)
    given = layout.get("range")
    if any(isinstance(value, str) for value in values):
        ends = [_ordinal(value) for value in (given or values)]
        first, last = min(ends), max(max(ends), min(ends) + 1)
        return Axis("day", first, last, _day_ticks(first, last))
    numbers = [float(value) for value in (given or values)] or [0.0, 1.0]
    first, last = min(numbers), max(numbers)
    if bars or layout.get("rangemode") == "tozero":
        first = min(first, 0.0)
    if not given:
        first, last = _widened(first, last, at_nought=bars or layout.get("rangemode") == "tozero")
    return Axis("number", first, last, _number_ticks(first, last, layout.get("ticksuffix", "")))


def _are_names(values: Sequence[Any]) -> bool:
    return any(isinstance(value, str) and not _is_day(value) for value in values)


def _is_day(value: str) -> bool:
    return value[:4].isdecimal() and value[4:5] == "-" and len(value) >= 10


def _ordinal(value: str) -> float:
    return float(date.fromisoformat(value[:10]).toordinal())


def _widened(first: float, last: float, *, at_nought: bool) -> tuple[float, float]:
    air = (last - first or abs(last) or 1.0) * 0.06
    return (first if at_nought and first == 0 else first - air), last + air


def _number_ticks(first: float, last: float, suffix: str) -> list[Tick]:
    rough = (last - first) / 5
    power = 10.0 ** math.floor(math.log10(rough))
    step = next(one * power for one in STEPS if one * power >= rough * 0.999)
    digits = max(0, -math.floor(math.log10(step) + 1e-9)) if step < 1 or step % 1 == 0 else 1
    begin = math.ceil(first / step - 1e-9)
    numbers = [n * step for n in range(begin, math.floor(last / step + 1e-9) + 1)]
    return [Tick(n, f"{n:.{digits}f}{suffix}".replace("-", "−")) for n in numbers]


def _day_ticks(first: float, last: float) -> list[Tick]:
    """First days of months; single days where there are few."""
    begin, end = date.fromordinal(int(first)), date.fromordinal(int(last))
    if last - first < FEW_DAYS:
        step = max(1, math.ceil((last - first) / MOST_TICKS))
        days = [date.fromordinal(at) for at in range(int(first), int(last) + 1, step)]
        return [Tick(day.isoformat(), f"{day.day} {day:%b}") for day in days]
    months = (last - first) / DAYS_A_MONTH
    step = next((one for one in MONTHS_APART if months / one <= MOST_TICKS), MONTHS_APART[-1])
    at = -(-(begin.year * 12 + begin.month - 1 + (begin.day > 1)) // step) * step
    ticks = []
    while (day := date(at // 12, at % 12 + 1, 1)) <= end:
        ticks.append(Tick(day.isoformat(), f"{day:%Y}" if step >= 12 else f"{day:%b %Y}"))
        at += step
    return ticks
