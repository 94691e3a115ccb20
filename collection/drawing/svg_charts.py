"""A figure drawn on the server, to be read without a script, printed, or put in a document.

It takes the figures of ``charts`` as they are: lines, bands, marks and bars over days, categories or numbers.
What it does not know (hovering, motion) is for whoever explores the same figure with the script.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from collection.drawing.axes import Axis, axis_of

WIDTH = 720.0
RIGHT, FOOT, LEGEND = 16.0, 26.0, 22.0
A_LETTER = 8.0  # about, of the text beside an axis
LEAST_LEFT, MOST_LEFT = 44.0, 200.0
GROUP_SHARE = 0.7  # of the room of a category that its bars take
MARK = 5.5  # half of one


@dataclass(frozen=True)
class Path:
    """A line or an area; empty colours are none."""

    d: str
    stroke: str = ""
    fill: str = ""
    width: float = 0.0
    dash: str = ""
    opacity: float = 1.0


@dataclass(frozen=True)
class Text:
    """Words at a place; ``anchor`` as SVG has it."""

    x: float
    y: float
    text: str
    anchor: str = "start"


@dataclass(frozen=True)
class Key:
    """A line of the legend."""

    text: str
    colour: str


@dataclass
class Drawing:
    """Everything of one figure."""

    width: float
    height: float
    grid: list[Path] = field(default_factory=list)
    paths: list[Path] = field(default_factory=list)
    texts: list[Text] = field(default_factory=list)
    keys: list[Key] = field(default_factory=list)


def draw_figure(figure: dict[str, Any]) -> Drawing:
    """The drawing of a figure of ``charts.figure``."""
    layout, traces = figure["layout"], figure["data"]
    height = float(layout["height"])
    ys = _values(traces, "y") + [end for shape in layout.get("shapes", ()) for end in _ends(shape, "y")]
    xs = _values(traces, "x") + [end for shape in layout.get("shapes", ()) for end in _ends(shape, "x")]
    stacked = layout.get("barmode") == "stack"
    y = axis_of(layout["yaxis"], _sums(traces) + ys if stacked else ys, bars=_lies(traces, "v"))
    left = min(
        max(max((len(tick.text) for tick in y.ticks), default=0) * A_LETTER + 12, LEAST_LEFT), MOST_LEFT
    )
    x = axis_of(layout["xaxis"], xs, bars=_lies(traces, "h"))
    page = _Page(Drawing(WIDTH, height), x.between(left, WIDTH - RIGHT), y.between(height - FOOT, 8.0))
    page.grid(left)
    for shape in layout.get("shapes", ()):
        page.shape(shape, left)
    bars = [trace for trace in traces if trace["type"] == "bar"]
    page.bars(bars, stacked=stacked)
    before: list[tuple[float, float]] = []
    for trace in (trace for trace in traces if trace["type"] == "scatter"):
        before = page.scatter(trace, before)
    if layout.get("showlegend", True):
        named = (trace for trace in traces if trace.get("name") and trace.get("showlegend", True))
        page.drawing.keys = [Key(trace["name"], _colour(trace)) for trace in named]
    return page.drawing


def _values(traces: Sequence[dict[str, Any]], name: str) -> list[Any]:
    return [value for trace in traces for value in trace[name] if value is not None]


def _sums(traces: Sequence[dict[str, Any]]) -> list[Any]:
    """The heights of bars that stand on each other."""
    stacks: dict[Any, float] = {}
    for trace in (trace for trace in traces if trace["type"] == "bar"):
        for at, value in zip(trace["x"], trace["y"], strict=True):
            stacks[at] = stacks.get(at, 0.0) + (value or 0.0)
    return list(stacks.values())


def _lies(traces: Sequence[dict[str, Any]], way: str) -> bool:
    return any(trace["type"] == "bar" and trace.get("orientation", "v") == way for trace in traces)


def _ends(shape: dict[str, Any], name: str) -> list[Any]:
    return [] if shape.get(f"{name}ref") == "paper" else [shape[f"{name}0"], shape[f"{name}1"]]


def _colour(trace: dict[str, Any]) -> str:
    line, mark = trace.get("line", {}), trace.get("marker", {})
    return str(trace.get("fillcolor") or line.get("color") or mark.get("color") or "currentColor")


@dataclass
class _Page:
    """Shapes put where the axes say."""

    drawing: Drawing
    x: Axis
    y: Axis

    def grid(self, left: float) -> None:
        """Lines across at the ticks, and their words."""
        top, foot, right = self.y.high, self.y.low, self.x.high
        for tick in self.y.ticks:
            at = self.y.at(tick.value)
            self.drawing.grid.append(Path(f"M{left:.1f} {at:.1f}H{right:.1f}"))
            self.drawing.texts.append(Text(left - 6, round(at + 5, 1), tick.text, "end"))
        for tick in self.x.ticks:
            at = self.x.at(tick.value)
            self.drawing.grid.append(Path(f"M{at:.1f} {top:.1f}V{foot:.1f}"))
            self.drawing.texts.append(Text(round(at, 1), foot + 19, tick.text, "middle"))

    def shape(self, shape: dict[str, Any], left: float) -> None:
        """A line over the whole width or height, or a stretch of days."""
        ends_x = (
            [left, self.x.high]
            if shape.get("xref") == "paper"
            else [self.x.at(shape[k]) for k in ("x0", "x1")]
        )
        ends_y = (
            [self.y.low, self.y.high]
            if shape.get("yref") == "paper"
            else [self.y.at(shape[k]) for k in ("y0", "y1")]
        )
        (x0, x1), (y0, y1) = ends_x, ends_y
        if shape["type"] == "rect":
            d = f"M{x0:.1f} {y0:.1f}H{x1:.1f}V{y1:.1f}H{x0:.1f}Z"
            self.drawing.paths.append(Path(d, fill=shape["fillcolor"], opacity=shape["opacity"]))
            return
        line = shape["line"]
        self.drawing.paths.append(
            Path(f"M{x0:.1f} {y0:.1f}L{x1:.1f} {y1:.1f}", line["color"], "", line["width"], "6 4")
        )
        if label := shape.get("label", {}).get("text"):
            upright = x0 == x1
            near_end = upright and x0 > self.x.high - 60
            place = (x0 + (-5 if near_end else 5), self.y.high + 12) if upright else (self.x.high, y0 - 5)
            anchor = "end" if near_end or not upright else "start"
            self.drawing.texts.append(Text(round(place[0], 1), round(place[1], 1), label, anchor))

    def _along(self, axis: Axis, shape: dict[str, Any], name: str) -> tuple[float, float]:
        return axis.at(shape[f"{name}0"]), axis.at(shape[f"{name}1"])

    def bars(self, traces: Sequence[dict[str, Any]], *, stacked: bool) -> None:
        """Bars beside or on each other, upright or lying."""
        if not traces:
            return
        lying = traces[0].get("orientation") == "h"
        names, along = (self.y, self.x) if lying else (self.x, self.y)
        room = names.room * GROUP_SHARE
        each = room if stacked else room / len(traces)
        feet: dict[Any, float] = {}
        for turn, trace in enumerate(traces):
            pairs = zip(*((trace["y"], trace["x"]) if lying else (trace["x"], trace["y"])), strict=True)
            colour = trace["marker"]["color"]
            d = ""
            for name, value in pairs:
                begin = names.at(name) - room / 2 + (0 if stacked else turn * each)
                foot = feet.get(name, 0.0) if stacked else 0.0
                feet[name] = foot + (value or 0.0)
                a, b = along.at(foot), along.at(foot + (value or 0.0))
                d += (
                    f"M{a:.1f} {begin:.1f}H{b:.1f}v{each:.1f}H{a:.1f}Z"
                    if lying
                    else f"M{begin:.1f} {a:.1f}V{b:.1f}h{each:.1f}V{a:.1f}Z"
                )
            self.drawing.paths.append(Path(d, fill=colour))

    def scatter(self, trace: dict[str, Any], before: list[tuple[float, float]]) -> list[tuple[float, float]]:
        """A line, its marks, or the band down to the line before it, whose points it gives back."""
        pieces = self._pieces(trace)
        points = [point for piece in pieces for point in piece]
        if trace.get("fill") and points and before:
            outline = [*points, *reversed(before)]
            d = "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in outline) + "Z"
            self.drawing.paths.append(Path(d, fill=trace["fillcolor"]))
        line = trace.get("line", {})
        if "lines" in trace["mode"] and line.get("width", 1.5) and points:
            d = "".join(
                "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in piece) for piece in pieces if len(piece) > 1
            )
            dash = "6 4" if line.get("dash") else ""
            self.drawing.paths.append(Path(d, line["color"], "", line.get("width", 1.5), dash))
        if "markers" in trace["mode"]:
            mark = trace.get("marker") or {"color": line.get("color", "")}
            symbol = str(mark.get("symbol", "circle"))
            d = "".join(_mark(symbol, x, y) for x, y in points)
            hollow = symbol.endswith("-open")
            colour = mark["color"]
            self.drawing.paths.append(Path(d, colour, "" if hollow else colour, 1.8 if hollow else 0.5))
        return points

    def _pieces(self, trace: dict[str, Any]) -> list[list[tuple[float, float]]]:
        """The points, broken where something is not known."""
        pieces: list[list[tuple[float, float]]] = [[]]
        for x, y in zip(trace["x"], trace["y"], strict=True):
            if x is None or y is None or (isinstance(y, float) and not math.isfinite(y)):
                pieces.append([])
            else:
                pieces[-1].append((self.x.at(x), self.y.at(y)))
        return [piece for piece in pieces if piece]


def _mark(symbol: str, x: float, y: float) -> str:
    m, shape = MARK, symbol.removesuffix("-open")
    if shape == "diamond":
        return f"M{x:.1f} {y - m:.1f}l{m} {m}-{m} {m}-{m}-{m}Z"
    if shape == "triangle-right":
        return f"M{x - m / 2:.1f} {y - m:.1f}l{1.6 * m:.1f} {m}-{1.6 * m:.1f} {m}Z"
    if shape == "triangle-left":
        return f"M{x + m / 2:.1f} {y - m:.1f}l-{1.6 * m:.1f} {m} {1.6 * m:.1f} {m}Z"
    if shape == "line-ns":
        return f"M{x:.1f} {y - m:.1f}v{2 * m}"
    return f"M{x - m:.1f} {y:.1f}a{m} {m} 0 1 0 {2 * m} 0a{m} {m} 0 1 0-{2 * m} 0Z"
