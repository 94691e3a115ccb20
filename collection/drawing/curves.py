"""A curve of one car over days, and what it says in a sentence and in a table."""

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Protocol

import numpy as np
import numpy.typing as npt

from collection.web.units import Edge

Floats = npt.NDArray[np.float64]
NO_BREAK = "\u00a0"  # keeps a number and its unit on one line


class Level(Protocol):
    """A line that a curve must not cross."""

    @property
    def name(self) -> str: ...  # noqa: D102
    @property
    def value(self) -> float: ...  # noqa: D102


class Curve(Protocol):
    """One quantity over days (ordinals): low, likely and high, one value a day each; NaN for none."""

    @property
    def name(self) -> str: ...  # noqa: D102
    @property
    def unit(self) -> str: ...  # noqa: D102
    @property
    def days(self) -> Floats: ...  # noqa: D102
    @property
    def low(self) -> Floats: ...  # noqa: D102
    @property
    def likely(self) -> Floats: ...  # noqa: D102
    @property
    def high(self) -> Floats: ...  # noqa: D102
    @property
    def levels(self) -> Sequence[Level]: ...  # noqa: D102


@dataclass(frozen=True)
class Scale:
    """From the curve's own unit to what is read: a share as per cent, the rest in the reader's units."""

    unit: str
    convert: Callable[[float], float]
    digits: int

    def values(self, column: Iterable[float]) -> list[float | None]:
        """For the figure: rounded, None where there is no value."""
        return [round(self.convert(float(v)), 3) if math.isfinite(v) else None for v in column]

    def say(self, value: float) -> str:
        """For people: with its unit and a real minus sign."""
        if not math.isfinite(value):
            return "–"
        return (
            f"{self.convert(value):.{self.digits}f} {self.unit}".strip()
            .replace(" ", NO_BREAK)
            .replace("-", "−")
        )


def scale_of(unit: str, edge: Edge) -> Scale:
    """How a unit is read; ``1`` and ``of ...`` are shares."""
    if unit == "1" or unit.startswith("of "):
        return Scale("%", lambda share: share * 100.0, 0)
    if unit == "kPa":
        return Scale(edge.pressure_unit, edge.from_kpa, 1 if edge.pressure_unit == "psi" else 2)
    if unit == "°C":
        return Scale(edge.temperature_unit, edge.from_c, 0)
    return Scale(unit, float, 1)


def sentence(curve: Curve, scale: Scale, today: date) -> str:
    """What the chart shows, for those who cannot see it: today, and each line ahead."""
    now = _on(curve, today)
    words = f"{capital(curve.name)}: not known for today."
    if now is not None and math.isfinite(curve.likely[now]):
        spread = f"between {scale.say(curve.low[now])} and {scale.say(curve.high[now])}"
        words = f"{capital(curve.name)} today: likely {scale.say(curve.likely[now])}, {spread}."
    return " ".join([words, *(_crossing_words(curve, level, scale, today) for level in curve.levels)])


def _crossing_words(curve: Curve, level: Level, scale: Scale, today: date) -> str:
    """When the likely curve next passes a line, from either side."""
    line = f"the line “{level.name}” at {scale.say(level.value)}"
    ahead = [
        (day, value)
        for day, value in zip(curve.days, curve.likely, strict=True)
        if day >= today.toordinal() and math.isfinite(value)
    ]
    if not ahead:
        return ""
    above = ahead[0][1] > level.value
    for day, value in ahead:
        if (value > level.value) != above:
            return f"It crosses {line} about {format_day(date_of(day))}."
    side = "above" if above else "below"
    return f"It stays {side} {line} until {format_day(date_of(ahead[-1][0]))}, as far as is drawn."


def monthly(curve: Curve, scale: Scale, today: date) -> Iterator[tuple[str, ...]]:
    """The values today and on the first of each month."""
    columns = (curve.days, curve.likely, curve.low, curve.high)
    for day, likely, low, high in zip(*columns, strict=True):
        on = date_of(day)
        if (on.day == 1 or on == today) and math.isfinite(likely):
            label = f"{format_day(on)} (today)" if on == today else format_day(on)
            yield label, scale.say(likely), scale.say(low), scale.say(high)


def _on(curve: Curve, day: date) -> int | None:
    index = day.toordinal() - int(curve.days[0])
    return index if 0 <= index < len(curve.days) else None


def date_of(day: float) -> date:
    """The date of an ordinal."""
    return date.fromordinal(int(day))


def iso_day(day: float) -> str:
    """An ordinal as the figure wants it."""
    return date_of(day).isoformat()


def format_day(day: date) -> str:
    """A day in the words of a chart: 3 Oct 2026."""
    return f"{day.day} {day:%b %Y}"


def capital(words: str) -> str:
    """With a capital at the front, the rest as it is."""
    return words[:1].upper() + words[1:]
