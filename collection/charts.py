"""Curves as figures: plain values in; a plotly figure, a sentence and a table of values out.

Every chart says in words and in a table what it draws, so that nothing is lost without the script.
Text, grid and background take the page's own colours from the stylesheet; the colours here are
those of lines and marks, and stand out on the light page as on the dark one.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, Protocol

import numpy as np
import numpy.typing as npt
import plotly.graph_objects as go
from django.utils.text import slugify

Floats = npt.NDArray[np.float64]

LINE = "#1f7f98"
BAND = "rgba(31, 127, 152, 0.22)"
LEVEL = "#c2453a"
POINT = "#a8690f"
TODAY = "#76807f"
HEIGHT_PX = 300
AIR = 1.06  # room above the top of a chart
HEADROOM = 1.6  # how far above its highest line a curve is drawn before it is cut

AXIS = {
    "showline": False,
    "zeroline": False,
    "ticks": "outside",
    "ticklen": 4,
    "fixedrange": True,
    "automargin": True,
}
LAYOUT = {
    "paper_bgcolor": "rgba(0,0,0,0)",
    "plot_bgcolor": "rgba(0,0,0,0)",
    "font": {"family": "system-ui, 'Segoe UI', 'Noto Sans', 'DejaVu Sans', sans-serif", "size": 13},
    "margin": {"l": 8, "r": 14, "t": 12, "b": 8},
    "dragmode": False,
    "hovermode": "closest",
    "legend": {"orientation": "h", "x": 0, "y": 1.02, "yanchor": "bottom"},
    "xaxis": AXIS | {"type": "date", "tickformat": "%b\n%Y", "hoverformat": "%a %-d %b %Y", "nticks": 7},
    "yaxis": AXIS,
}


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
class Point:
    """A measured value on the chart; ``text`` says what was read."""

    day: date
    value: float
    text: str


@dataclass(frozen=True)
class Chart:
    """A figure with the words and the table that stand for it."""

    key: str
    title: str
    sentence: str
    figure: dict[str, Any]
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class _Scale:
    """Shares are read as per cent; every other unit as it is."""

    unit: str
    factor: float
    digits: int

    def values(self, column: Floats) -> list[float | None]:
        """For the figure: rounded, None where there is no value."""
        return [round(float(v) * self.factor, 3) if math.isfinite(v) else None for v in column]

    def say(self, value: float) -> str:
        """For people: with its unit."""
        return f"{value * self.factor:.{self.digits}f} {self.unit}".strip() if math.isfinite(value) else "–"


def _scale(unit: str) -> _Scale:
    return _Scale("%", 100.0, 0) if unit == "1" else _Scale(unit, 1.0, 1)


def curve_chart(curve: Curve, *, today: date, points: Sequence[Point] = ()) -> Chart:
    """A curve with its band, the lines it must not cross, and what was measured."""
    scale = _scale(curve.unit)
    figure = go.Figure([*_band(curve, scale), *_points(points, scale)], layout(HEIGHT_PX))
    figure.update_yaxes(ticksuffix=f" {scale.unit}", range=_span(curve, points, scale))
    figure.update_xaxes(range=[_iso(curve.days[0]), _iso(curve.days[-1])])
    for level in curve.levels:
        value = level.value * scale.factor
        line = {"dash": "dash", "color": LEVEL, "width": 1.5}
        label = {
            "text": f"{level.name} {scale.say(level.value)}",
            "textposition": "start",
            "yanchor": "bottom",
        }
        figure.add_shape(type="line", xref="paper", x0=0, x1=1, y0=value, y1=value, line=line, label=label)
    _mark_today(figure, today)
    return Chart(
        key=slugify(curve.name),
        title=_capital(curve.name),
        sentence=_curve_words(curve, scale, today),
        figure=plain(figure),
        columns=("Day", "Likely", "Lowest", "Highest"),
        rows=tuple(_monthly(curve, scale, today)),
    )


def _band(curve: Curve, scale: _Scale) -> list[go.Scatter]:
    days = [_iso(day) for day in curve.days]
    edge = {"x": days, "mode": "lines", "line": {"width": 0}, "hoverinfo": "skip", "connectgaps": False}
    between = [
        f"{scale.say(low)} to {scale.say(high)}" for low, high in zip(curve.low, curve.high, strict=True)
    ]
    return [
        go.Scatter(y=scale.values(curve.low), showlegend=False, **edge),
        go.Scatter(
            y=scale.values(curve.high), fill="tonexty", fillcolor=BAND, name="Lowest to highest", **edge
        ),
        go.Scatter(
            x=days, y=scale.values(curve.likely), mode="lines", line={"color": LINE, "width": 2.5},
            name="Likely", customdata=between,
            hovertemplate=f"%{{x}}<br>%{{y:.{scale.digits}f}} {scale.unit}, %{{customdata}}<extra></extra>",
        ),
    ]  # fmt: skip


def _points(points: Sequence[Point], scale: _Scale) -> list[go.Scatter]:
    if not points:
        return []
    return [
        go.Scatter(
            x=[point.day.isoformat() for point in points],
            y=scale.values(np.array([point.value for point in points])),
            mode="markers", name="Reading", text=[point.text for point in points],
            hovertemplate="%{x}: %{text}<extra></extra>",
            marker={"symbol": "diamond", "size": 10, "color": POINT},
        )
    ]  # fmt: skip


def layout(height: int) -> dict[str, Any]:
    """The look that all our figures share."""
    return LAYOUT | {"height": height}


def _mark_today(figure: go.Figure, today: date) -> None:
    day = today.isoformat()
    label = {"text": "today", "textposition": "end", "textangle": 0, "xanchor": "left", "yanchor": "top"}
    line = {"dash": "dot", "color": TODAY, "width": 1.5}
    figure.add_shape(type="line", yref="paper", x0=day, x1=day, y0=0, y1=1, line=line, label=label)


def _top(curve: Curve, points: Sequence[Point]) -> float:
    """The top of the chart: the curve, cut where it runs far beyond its highest line."""
    drawn = [v for v in (*curve.high, *curve.likely) if math.isfinite(v)]
    kept = [level.value for level in curve.levels] + [point.value for point in points]
    top = max([*drawn, *kept], default=1.0)
    return min(top, HEADROOM * max(kept)) if kept and max(kept) > 0 else top


def _span(curve: Curve, points: Sequence[Point], scale: _Scale) -> list[float] | None:
    """From nought to the top with a little air; left to the script where values fall below nought."""
    if any(v < 0 for v in (*curve.low, *(level.value for level in curve.levels))):
        return None
    return [0, _top(curve, points) * scale.factor * AIR]


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


def _curve_words(curve: Curve, scale: _Scale, today: date) -> str:
    now = _on(curve, today)
    words = f"{_capital(curve.name)}: not known for today."
    if now is not None and math.isfinite(curve.likely[now]):
        spread = f"between {scale.say(curve.low[now])} and {scale.say(curve.high[now])}"
        words = f"{_capital(curve.name)} today: likely {scale.say(curve.likely[now])}, {spread}."
    return " ".join([words, *(_crossing_words(curve, level, scale, today) for level in curve.levels)])


def _crossing_words(curve: Curve, level: Level, scale: _Scale, today: date) -> str:
    """When the likely curve next passes a line, from either side."""
    line = f"{level.name[:1].lower()}{level.name[1:]} ({scale.say(level.value)})"
    ahead = [
        (day, value) for day, value in zip(curve.days, curve.likely, strict=True)
        if day >= today.toordinal() and math.isfinite(value)
    ]  # fmt: skip
    if not ahead:
        return ""
    above = ahead[0][1] > level.value
    for day, value in ahead:
        if (value > level.value) != above:
            return f"It passes the line for {line} about {say_day(date.fromordinal(int(day)))}."
    return (
        f"It stays {'above' if above else 'below'} the line for {line} until {say_day(_date(ahead[-1][0]))}."
    )


def _monthly(curve: Curve, scale: _Scale, today: date) -> Iterator[tuple[str, ...]]:
    """The values today and on the first of each month."""
    columns = (curve.days, curve.likely, curve.low, curve.high)
    for day, likely, low, high in zip(*columns, strict=True):
        on = _date(day)
        if (on.day == 1 or on == today) and math.isfinite(likely):
            label = f"{say_day(on)} (today)" if on == today else say_day(on)
            yield label, scale.say(likely), scale.say(low), scale.say(high)


def _on(curve: Curve, day: date) -> int | None:
    index = day.toordinal() - int(curve.days[0])
    return index if 0 <= index < len(curve.days) else None


def _date(day: float) -> date:
    return date.fromordinal(int(day))


def _iso(day: float) -> str:
    return _date(day).isoformat()


def say_day(day: date) -> str:
    """A day in the words of a chart: 3 Oct 2026."""
    return f"{day.day} {day:%b %Y}"


def plain(figure: go.Figure) -> dict[str, Any]:
    """The figure as data, only what the page needs: plotly's own template repeats every default."""
    figure.layout.template = None
    plain: dict[str, Any] = figure.to_plotly_json()
    return plain
