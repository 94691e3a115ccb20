"""A curve of one car as a figure: its band, the lines it must not cross, and what was measured."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from django.utils.text import slugify

from collection.drawing.charts import (
    BAND,
    HEIGHT_PX,
    LEVEL,
    LINE,
    POINT,
    TODAY,
    Chart,
    Trace,
    figure,
    scatter,
)
from collection.drawing.days import iso_day
from collection.due.core.curves import Band
from collection.due.curve_words import Scale, capital, known_on, monthly, scale_of, sentence
from collection.web.units import Edge

AIR = 1.06  # room above the top of a chart
HEADROOM = 1.6  # how far above its highest line a curve is drawn before it is cut


@dataclass(frozen=True)
class Point:
    """A measured value on the chart; ``text`` says what was read."""

    day: date
    value: float
    text: str


def curve_chart(curve: Band, *, today: date, edge: Edge, points: Sequence[Point] = ()) -> Chart:
    """A curve with its band, the lines it must not cross, and what was measured."""
    scale = scale_of(curve.unit, edge)
    words = sentence(curve, scale, today)
    if known_on(curve, today) is None:  # what is assumed for a later day would read as a forecast
        return Chart(slugify(curve.name), capital(curve.name), words, {}, (), ())
    span = _span(curve, points, scale)
    drawn = figure(
        [*_band(curve, scale), *_points(points, scale)],
        HEIGHT_PX,
        x={"range": [iso_day(_first_known(curve)), iso_day(curve.days[-1])]},
        y={"ticksuffix": f" {scale.unit.name}"} | ({"range": span} if span else {}),
        shapes=[*_levels(curve, scale), _mark_of(today)],
    )
    return Chart(
        key=slugify(curve.name),
        title=capital(curve.name),
        sentence=words,
        figure=drawn,
        columns=("Day", "Likely", "Lowest", "Highest"),
        rows=tuple(monthly(curve, scale, today)),
    )


def _levels(curve: Band, scale: Scale) -> list[Trace]:
    """The lines that the curve must not cross."""
    line = {"dash": "dash", "color": LEVEL, "width": 1.5}
    shapes = []
    for level in curve.levels:
        value = scale.unit.from_si(level.value)
        label = {
            "text": f"{capital(level.name)} {scale.format(level.value)}",
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


def _band(curve: Band, scale: Scale) -> list[Trace]:
    days = [iso_day(day) for day in curve.days]
    edge = {"x": days, "mode": "lines", "line": {"width": 0}, "hoverinfo": "skip", "connectgaps": False}
    ends = zip(curve.low, curve.high, strict=True)
    between = [f"{scale.format(low)} to {scale.format(high)}" for low, high in ends]
    value = f"%{{y:.{scale.digits}f}} {scale.unit.name}"
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
            hovertemplate=f"%{{x}}<br>{value}, %{{customdata}}<extra></extra>",
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


def _first_known(curve: Band) -> float:
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


def _top(curve: Band, points: Sequence[Point]) -> float:
    """The top of the chart: the curve, cut where it runs far beyond its highest line."""
    drawn = [v for v in (*curve.high, *curve.likely) if math.isfinite(v)]
    kept = [level.value for level in curve.levels] + [point.value for point in points]
    top = max([*drawn, *kept], default=1.0)
    return min(top, HEADROOM * max(kept)) if kept and max(kept) > 0 else top


def _span(curve: Band, points: Sequence[Point], scale: Scale) -> list[float] | None:
    """From nought to the top with a little air; left to the script where values fall below nought."""
    if any(v < 0 for v in (*curve.low, *(level.value for level in curve.levels))):
        return None
    return [0, scale.unit.from_si(_top(curve, points)) * AIR]
