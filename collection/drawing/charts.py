"""Curves as figures: plain values in; a figure as plain data, a sentence and a table of values out.

Every chart says in words and in a table what it draws, so that nothing is lost without the script.
Text, grid and background take the page's own colours from the stylesheet; the colours here are
those of lines and marks, and stand out on the light page as on the dark one.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.utils.text import slugify

from collection.drawing.curves import Curve, Scale, capital, iso_day, monthly, scale_of, sentence
from collection.web.units import Edge

LINE = "#1f7f98"
BAND = "rgba(31, 127, 152, 0.22)"
LEVEL = "#c2453a"
POINT = "#a8690f"
TODAY = "#76807f"
HEIGHT_PX = 300
AIR = 1.06  # room above the top of a chart
HEADROOM = 1.6  # how far above its highest line a curve is drawn before it is cut

Trace = dict[str, Any]  # as the chart script takes it: plotly.js, whose names these are

AXIS: Trace = {
    "showline": False,
    "zeroline": False,
    "ticks": "outside",
    "ticklen": 4,
    "fixedrange": True,
    "automargin": True,
}
LAYOUT: Trace = {
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


@dataclass(frozen=True)
class Point:
    """A measured value on the chart; ``text`` says what was read."""

    day: date
    value: float
    text: str


@dataclass(frozen=True)
class Chart:
    """A figure with the words and the table that stand for it; no figure where there is nothing to draw."""

    key: str
    title: str
    sentence: str
    figure: dict[str, Any]
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def curve_chart(curve: Curve, *, today: date, edge: Edge, points: Sequence[Point] = ()) -> Chart:
    """A curve with its band, the lines it must not cross, and what was measured."""
    scale = scale_of(curve.unit, edge)
    span = _span(curve, points, scale)
    drawn = figure(
        [*_band(curve, scale), *_points(points, scale)],
        HEIGHT_PX,
        x={"range": [iso_day(_first_known(curve)), iso_day(curve.days[-1])]},
        y={"ticksuffix": f" {scale.unit}"} | ({"range": span} if span else {}),
        shapes=[*_levels(curve, scale), _mark_of(today)],
    )
    return Chart(
        key=slugify(curve.name),
        title=capital(curve.name),
        sentence=sentence(curve, scale, today),
        figure=drawn,
        columns=("Day", "Likely", "Lowest", "Highest"),
        rows=tuple(monthly(curve, scale, today)),
    )


def _levels(curve: Curve, scale: Scale) -> list[Trace]:
    """The lines that the curve must not cross."""
    line = {"dash": "dash", "color": LEVEL, "width": 1.5}
    shapes = []
    for level in curve.levels:
        value = scale.convert(level.value)
        label = {
            "text": f"{capital(level.name)} {scale.say(level.value)}",
            "textposition": "end",
            "yanchor": "bottom",
        }
        shapes.append(
            {
                "type": "line",
                "xref": "paper",
                "x0": 0,
                "x1": 1,
                "y0": value,
                "y1": value,
                "line": line,
                "label": label,
            }
        )
    return shapes


def _band(curve: Curve, scale: Scale) -> list[Trace]:
    days = [iso_day(day) for day in curve.days]
    edge = {"x": days, "mode": "lines", "line": {"width": 0}, "hoverinfo": "skip", "connectgaps": False}
    between = [
        f"{scale.say(low)} to {scale.say(high)}" for low, high in zip(curve.low, curve.high, strict=True)
    ]
    return [
        scatter(y=scale.values(curve.low), showlegend=False, **edge),
        scatter(y=scale.values(curve.high), fill="tonexty", fillcolor=BAND, name="Lowest to highest", **edge),
        scatter(
            x=days,
            y=scale.values(curve.likely),
            mode="lines",
            line={"color": LINE, "width": 2.5},
            name="Likely",
            customdata=between,
            hovertemplate=f"%{{x}}<br>%{{y:.{scale.digits}f}} {scale.unit}, %{{customdata}}<extra></extra>",
        ),
    ]


def _points(points: Sequence[Point], scale: Scale) -> list[Trace]:
    if not points:
        return []
    return [
        scatter(
            x=[point.day.isoformat() for point in points],
            y=scale.values(point.value for point in points),
            mode="markers",
            name="Charge or reading",
            text=[point.text for point in points],
            hovertemplate="%{x}: %{text}<extra></extra>",
            marker={"symbol": "diamond", "size": 10, "color": POINT},
        )
    ]


def figure(
    traces: Sequence[Trace], height: int, *, x: Trace | None = None, y: Trace | None = None, **more: Any
) -> dict[str, Any]:
    """A figure as the script takes it, in the look that all our figures share; ``x`` and ``y`` the axes."""
    axes = {"xaxis": LAYOUT["xaxis"] | (x or {}), "yaxis": LAYOUT["yaxis"] | (y or {})}
    return {"data": list(traces), "layout": LAYOUT | {"height": height} | axes | more}


def scatter(**values: Any) -> Trace:
    """Points or lines."""
    return {"type": "scatter", **values}


def bars(**values: Any) -> Trace:
    """Bars."""
    return {"type": "bar", **values}


def _first_known(curve: Curve) -> float:
    """The day from which there is anything to draw."""
    known = zip(curve.days, curve.likely, strict=True)
    return next((float(day) for day, value in known if math.isfinite(value)), float(curve.days[0]))


def _mark_of(today: date) -> Trace:
    day = today.isoformat()
    label = {"text": "today", "textposition": "end", "textangle": 0, "xanchor": "left", "yanchor": "top"}
    line = {"dash": "dot", "color": TODAY, "width": 1.5}
    return {
        "type": "line",
        "yref": "paper",
        "x0": day,
        "x1": day,
        "y0": 0,
        "y1": 1,
        "line": line,
        "label": label,
    }


def _top(curve: Curve, points: Sequence[Point]) -> float:
    """The top of the chart: the curve, cut where it runs far beyond its highest line."""
    drawn = [v for v in (*curve.high, *curve.likely) if math.isfinite(v)]
    kept = [level.value for level in curve.levels] + [point.value for point in points]
    top = max([*drawn, *kept], default=1.0)
    return min(top, HEADROOM * max(kept)) if kept and max(kept) > 0 else top


def _span(curve: Curve, points: Sequence[Point], scale: Scale) -> list[float] | None:
    """From nought to the top with a little air; left to the script where values fall below nought."""
    if any(v < 0 for v in (*curve.low, *(level.value for level in curve.levels))):
        return None
    return [0, scale.convert(_top(curve, points)) * AIR]
