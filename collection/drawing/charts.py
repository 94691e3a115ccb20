"""Curves as figures: plain values in; a figure as plain data, a sentence and a table of values out.

Every chart says in words and in a table what it draws, so that nothing is lost without the script.
Text, grid and background take the page's own colours from the stylesheet; the colours here are
those of lines and marks, and stand out on the light page as on the dark one.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from collection.drawing.svg_charts import Drawing, draw_figure

LINE = "#1f7f98"
BAND = "rgba(31, 127, 152, 0.22)"
LEVEL = "#c2453a"
POINT = "#a8690f"
TODAY = "#76807f"
HEIGHT_PX = 300

Trace = dict[str, Any]  # as the chart script takes it: plotly.js, whose names these are

AXIS: Trace = {
    "showline": False,
    "zeroline": False,
    "ticks": "outside",
    "ticklen": 4,
    "fixedrange": True,
    "automargin": True,
}
# Ticks nearer than a month say their day: else one month would be named several times in a row.
MONTHS = [
    {"dtickrange": [None, "M1"], "value": "%-d %b\n%Y"},
    {"dtickrange": ["M1", None], "value": "%b\n%Y"},
]
LAYOUT: Trace = {
    "paper_bgcolor": "rgba(0,0,0,0)",
    "plot_bgcolor": "rgba(0,0,0,0)",
    "font": {"family": "system-ui, 'Segoe UI', 'Noto Sans', 'DejaVu Sans', sans-serif", "size": 13},
    "margin": {"l": 8, "r": 14, "t": 12, "b": 8},
    "dragmode": False,
    "hovermode": "closest",
    "legend": {"orientation": "h", "x": 0, "y": 1.02, "yanchor": "bottom"},
    "xaxis": AXIS | {"type": "date", "tickformatstops": MONTHS, "hoverformat": "%a %-d %b %Y", "nticks": 7},
    "yaxis": AXIS,
}


@dataclass(frozen=True)
class Chart:
    """A figure with the words and the table that stand for it; no figure where there is nothing to draw."""

    key: str
    title: str
    sentence: str
    figure: dict[str, Any]
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]

    @property
    def drawing(self) -> Drawing | None:
        """The figure drawn, to be read without the script."""
        return draw_figure(self.figure) if self.figure else None


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
