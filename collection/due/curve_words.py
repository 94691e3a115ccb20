"""A curve of one car over days, in a sentence and in a table."""

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date

from collection.drawing.days import date_of, format_day
from collection.due.core.curves import Band, Level
from collection.web.units import A_SHARE, Edge
from scheduler.vocabulary.units import Unit

NO_BREAK = "\u00a0"  # keeps a number and its unit on one line
DIGITS = {"%": 0, "°C": 0, "°F": 0, "bar": 2}


@dataclass(frozen=True)
class Scale:
    """The reader's unit for a curve, and the decimals that it bears."""

    unit: Unit
    digits: int

    def values(self, column: Iterable[float]) -> list[float | None]:
        """For the figure: rounded, None where there is no value."""
        return [round(self.unit.from_si(float(v)), 3) if math.isfinite(v) else None for v in column]

    def format(self, value: float) -> str:
        """For people: with its unit and a real minus sign."""
        if not math.isfinite(value):
            return "–"
        return self.unit.format(value, f".{self.digits}f").replace(" ", NO_BREAK)


def scale_of(unit: str, edge: Edge) -> Scale:
    """How a curve's unit is read; of a share the chart's title says of what."""
    own = edge.unit("1" if unit.startswith(A_SHARE) else unit)
    return Scale(own, DIGITS.get(own.name, 1))


def sentence(curve: Band, scale: Scale, today: date) -> str:
    """What the chart shows, for those who cannot see it: today, and each line ahead."""
    words = words_of_today(curve, scale, today)
    if known_on(curve, today) is None:
        return words
    return " ".join([words, *(_crossing_words(curve, level, scale, today) for level in curve.levels)])


def words_of_today(curve: Band, scale: Scale, today: date) -> str:
    """What is likely today, and between what."""
    now = known_on(curve, today)
    if now is None:
        return f"{capital(curve.name)}: not known for today."
    spread = f"between {scale.format(curve.low[now])} and {scale.format(curve.high[now])}"
    return f"{capital(curve.name)} today: likely {scale.format(curve.likely[now])}, {spread}."


def _crossing_words(curve: Band, level: Level, scale: Scale, today: date) -> str:
    """When the likely curve next passes a line, from either side."""
    line = f"the line “{level.name}” at {scale.format(level.value)}"
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


def monthly(curve: Band, scale: Scale, today: date) -> Iterator[tuple[str, ...]]:
    """The values today and on the first of each month."""
    columns = (curve.days, curve.likely, curve.low, curve.high)
    for day, likely, low, high in zip(*columns, strict=True):
        on = date_of(day)
        if (on.day == 1 or on == today) and math.isfinite(likely):
            label = f"{format_day(on)} (today)" if on == today else format_day(on)
            yield label, scale.format(likely), scale.format(low), scale.format(high)


def known_on(curve: Band, day: date) -> int | None:
    """Where the curve has a day's value; None where it has none."""
    index = day.toordinal() - int(curve.days[0])
    return index if 0 <= index < len(curve.days) and math.isfinite(curve.likely[index]) else None


def capital(words: str) -> str:
    """With a capital at the front, the rest as it is."""
    return words[:1].upper() + words[1:]
