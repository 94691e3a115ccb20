"""Two years of one thing as a strip: a curve, what it must not cross, windows, what was done; plain SVG.

The shapes are stretched to whatever width there is, so that nothing in them is text: the words stand beside
them, the months below. ``x`` runs over WIDTH, ``y`` downwards over HEIGHT; curves keep to the upper part.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, timedelta

import numpy as np
import numpy.typing as npt
from django.template.loader import render_to_string

Numbers = list[float] | npt.NDArray[np.float64]
WIDTH, HEIGHT = 1000, 60
TOP, BOTTOM = 3, 43  # of the curve
MORE_THAN_A_MONTH = timedelta(days=32)  # from its first day
EVERY_DAYS = 4  # of a curve: finer than a phone shows


@dataclass(frozen=True)
class Days:
    """From the first day to the last; days outside fall on the edge."""

    first: date
    last: date

    def x(self, day: date | float) -> float:
        """Where a day lies."""
        ordinal = day.toordinal() if isinstance(day, date) else day
        share = (ordinal - self.first.toordinal()) / (self.last.toordinal() - self.first.toordinal())
        return round(WIDTH * min(max(share, 0.0), 1.0), 1)

    def holds(self, day: date) -> bool:
        """Whether the day is within."""
        return self.first <= day <= self.last

    @property
    def months(self) -> list[float]:
        """Where each month begins, but for the first."""
        at, starts = self.first.replace(day=1), []
        while (at := (at + MORE_THAN_A_MONTH).replace(day=1)) <= self.last:
            starts.append(self.x(at))
        return starts

    @property
    def years(self) -> list[float]:
        """Where each year begins, but for the first."""
        return [self.x(date(year, 1, 1)) for year in range(self.first.year + 1, self.last.year + 1)]


@dataclass(frozen=True)
class Bar:
    """A window: from the early day to the late one, with the likely day in it."""

    x: float
    width: float
    due: float | None
    state: str
    text: str
    y: float = 47
    height: float = 9

    @property
    def foot(self) -> float:
        """Where it ends below."""
        return self.y + self.height


@dataclass(frozen=True)
class Done:
    """Something done on a day."""

    x: float
    text: str
    top: float = 43
    bottom: float = 59


@dataclass(frozen=True)
class Shade:
    """Days that differ from others, over the whole height: ``kind`` is a class of the stylesheet."""

    x: float
    width: float
    kind: str
    text: str


@dataclass(frozen=True, kw_only=True)
class Strip:
    """What is drawn, and the words for it."""

    key: str
    title: str
    sentence: str
    today: float | None  # none where it ends today
    months: list[float]
    shades: list[Shade] = field(default_factory=list)
    line: str = ""
    band: str = ""
    levels: list[float] = field(default_factory=list)
    unknown: list[tuple[float, float]] = field(default_factory=list)  # from, width: nothing is known there
    moves: list[float] = field(default_factory=list)  # it was moved to another place
    bars: list[Bar] = field(default_factory=list)
    done: list[Done] = field(default_factory=list)


def bar(
    days: Days, window: tuple[date | None, date | None, date | None], state: str, text: str
) -> Bar | None:
    """The window (early, due, late); None where it has no day, or none within these."""
    early, due, late = window
    known = [day for day in window if day]
    if not known or max(known) < days.first or min(known) > days.last:
        return None
    begin, end = days.x(early or known[0]), days.x(late or known[-1])
    at = days.x(due) if due and days.holds(due) else None
    return Bar(begin, round(max(end - begin, 2.0), 1), at, state, text)


def done(days: Days, marks: Iterable[tuple[date, str]]) -> list[Done]:
    """A mark for each thing done within the days; what was done on one day is one mark."""
    by_day: dict[date, list[str]] = {}
    for day, text in marks:
        if days.holds(day):
            by_day.setdefault(day, []).append(text)
    return [Done(days.x(day), ", ".join(dict.fromkeys(texts))) for day, texts in sorted(by_day.items())]


def unknown(days: Days, spans: Iterable[tuple[date, date]]) -> list[tuple[float, float]]:
    """Where nothing is known, as far as it lies within the days."""
    cut = [(days.x(first), days.x(last)) for first, last in spans]
    return [(begin, round(end - begin, 1)) for begin, end in cut if end > begin]


def shade(days: Days, first: date, last: date, kind: str, text: str) -> Shade | None:
    """From the first day to the end of the last; None where no day of it is shown."""
    if last < days.first or first > days.last:
        return None
    begin, end = days.x(first), days.x(last + timedelta(days=1))
    return Shade(begin, round(max(end - begin, 1.0), 1), kind, text)


def scaled(value: float, low: float, high: float) -> float:
    """How far down a value lies between the lowest and the highest that are drawn."""
    share = min(max((value - low) / (high - low), 0.0), 1.0)
    return round(BOTTOM - share * (BOTTOM - TOP), 1)


def line(days: Days, at: Numbers, values: Numbers, low: float, high: float) -> str:
    """A path through the known values; a gap where one is not known."""
    parts, open_ = [], False
    for day, value in _some(at, values):
        if math.isfinite(value):
            parts.append(f"{'L' if open_ else 'M'}{days.x(day)} {scaled(value, low, high)}")
        open_ = math.isfinite(value)
    return "".join(parts)


def band(days: Days, at: Numbers, lows: Numbers, highs: Numbers, low: float, high: float) -> str:
    """The area between two curves, where both are known."""
    both = [
        (day, below, above)
        for (day, below), (_, above) in zip(_some(at, lows), _some(at, highs), strict=True)
        if math.isfinite(below) and math.isfinite(above)
    ]
    if len(both) < 2:
        return ""
    upper = [f"{days.x(day)} {scaled(above, low, high)}" for day, _, above in both]
    lower = [f"{days.x(day)} {scaled(below, low, high)}" for day, below, _ in reversed(both)]
    return f"M{'L'.join((*upper, *lower))}Z"


def _some(at: Numbers, values: Numbers) -> list[tuple[float, float]]:
    """Every few days, and the last."""
    pairs = [(float(day), float(value)) for day, value in zip(at, values, strict=True)]
    return [*pairs[:-1:EVERY_DAYS], *pairs[-1:]]


# for paper: legible in grey, and with nothing outside it
_PAPER = """<style>
.gone{fill:none}.month{stroke:#ccc;stroke-width:1}.band{fill:#c9c9c9}.line{fill:none;stroke:#000;stroke-width:2}
.level{stroke:#555;stroke-width:1.5;stroke-dasharray:5 4}.bar{fill:#777}
.likely,.did,.today{stroke:#000;stroke-width:2}
.moved{stroke:#333;stroke-width:2;stroke-dasharray:2 3}.hatch{stroke:#999}
</style><defs><pattern id="hatch" width="8" height="8" patternUnits="userSpaceOnUse"
 patternTransform="rotate(45)"><path class="hatch" d="M0 0V8" stroke-width="2"/></pattern></defs>"""


def picture(strip: Strip) -> str:
    """A strip as an SVG file of its own, for paper."""
    page = render_to_string("parts/strip.html", {"strip": strip})
    _, _, inner = page[page.index("<svg") :].partition(">")
    size = f'width="{WIDTH}" height="{HEIGHT}" viewBox="0 0 {WIDTH} {HEIGHT}"'
    return f'<svg xmlns="http://www.w3.org/2000/svg" {size} preserveAspectRatio="none">{_PAPER}{inner}'
