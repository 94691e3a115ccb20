"""The curves of the models with what was published, and the scorecard of their dates, as Help shows them.

Both are computed beforehand (``tests.bench.measured``) and held to the models by tests.
"""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from itertools import groupby
from pathlib import Path
from typing import Any

STORED = Path(__file__).with_name("measured.json")
WIDTH, HEIGHT, MARGIN = 320.0, 150.0, 8.0
SHOWN_DIGITS = 3
Point = tuple[float, float]


@dataclass(frozen=True)
class Compared:
    """One published point: where, what was published, what ours gives, and ours less theirs."""

    x: str
    published: str
    ours: str
    apart: str


@dataclass(frozen=True)
class Mechanism:
    """One curve: words of it, its path and points in a box of ``WIDTH`` by ``HEIGHT``, ends of both axes."""

    words: dict[str, str]
    path: str
    points: tuple[Point, ...]
    x_ends: tuple[str, str]
    y_ends: tuple[str, str]
    compared: tuple[Compared, ...]


@dataclass(frozen=True)
class WorldScore:
    """One simulated world: after each number of readings, coverage in per cent and middle error in days."""

    name: str
    cells: tuple[tuple[str, str], ...]


def _figure(value: float) -> str:
    return f"{value:.{SHOWN_DIGITS}g}".replace("-", "−")


@cache
def stored() -> dict[str, Any]:
    """What was computed beforehand."""
    table: dict[str, Any] = json.loads(STORED.read_text(encoding="utf-8"))
    return table


@cache
def mechanisms() -> tuple[Mechanism, ...]:
    """Every mechanism, in the order of its system."""
    return tuple(_mechanism(row) for row in stored()["mechanisms"])


@cache
def scorecard() -> tuple[tuple[str, tuple[WorldScore, ...]], ...]:
    """By what is dated: every world and its scores."""
    rows = groupby(stored()["scorecard"], key=lambda row: row["system"])
    return tuple((system, tuple(_world(row) for row in group)) for system, group in rows)


def _world(row: dict[str, Any]) -> WorldScore:
    scores = zip(row["coverage_pct"], row["error_days"], strict=True)
    return WorldScore(
        row["world"], tuple((f"{share:.0f}\u00a0%", f"{days:.0f}\u00a0d") for share, days in scores)
    )


def _mechanism(row: dict[str, Any]) -> Mechanism:
    curve = [(x, y) for x, y in row["curve"]]
    drawn = curve + [(x, y) for x, y, _ in row["points"]]
    box = [(min(axis), max(axis)) for axis in zip(*drawn, strict=True)]
    path = "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in _placed(curve, box))
    (x_low, x_high), (y_low, y_high) = box
    return Mechanism(
        {key: value for key, value in row.items() if isinstance(value, str)},
        path,
        tuple(_placed([(x, y) for x, y, _ in row["points"]], box)),
        (_figure(x_low), _figure(x_high)),
        (_figure(y_low), _figure(y_high)),
        tuple(
            Compared(_figure(x), _figure(published), _figure(ours), _figure(ours - published))
            for x, published, ours in row["points"]
        ),
    )


def _placed(points: Sequence[Point], box: Sequence[Point]) -> list[Point]:
    """Points within the drawing, its origin on top."""
    (x_low, x_high), (y_low, y_high) = box
    return [
        (
            round(MARGIN + (WIDTH - 2 * MARGIN) * (x - x_low) / (x_high - x_low), 1),
            round(HEIGHT - MARGIN - (HEIGHT - 2 * MARGIN) * (y - y_low) / (y_high - y_low), 1),
        )
        for x, y in points
    ]
