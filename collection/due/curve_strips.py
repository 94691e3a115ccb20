"""Curves and the air as strips, over whatever days they are asked for."""

import math
from collections.abc import Sequence
from datetime import date

from collection.drawing.strips import Days, Strip, band, line, scaled
from collection.due.core.air import Air
from collection.due.core.curves import Band
from scheduler.vocabulary.duties import DUTIES

DRIEST, WETTEST = 30.0, 100.0  # per cent, of the strip of the air
HEADROOM = 1.25  # above the highest line of a curve
CLOSE = 0.7  # of the highest line: where all lines lie above it, what is far below is left out


def with_curves() -> list[str]:
    """The duties that have a curve."""
    return [duty.code for duty in DUTIES if duty.curve]


def curve_shapes(days: Days, curve: Band) -> dict[str, object]:
    """The curve, its band and its lines."""
    levels = [level.value for level in curve.levels]
    low, top = _range([*levels, *(float(value) for value in curve.likely if math.isfinite(value))], levels)
    return {
        "line": line(days, curve.days, curve.likely, low, top),
        "band": band(days, curve.days, curve.low, curve.high, low, top),
        "levels": [scaled(level, low, top) for level in levels],
    }


def _range(values: Sequence[float], levels: Sequence[float]) -> tuple[float, float]:
    """What is drawn: from nought to a little above the highest line, or close about lines far above it."""
    top = HEADROOM * max(levels) if levels and max(levels) > 0 else max(values)
    lowest = min(values)
    if levels and min(levels) > CLOSE * max(levels):
        air = (max(values) - lowest) / 4
        return lowest - air, max(values) + air
    return min(0.0, lowest), top


def air_strip(days: Days, air: Air, today: date) -> Strip:
    """The humidity by the week, of one week at least, against the limit of damp."""
    damp, weeks = air.damp_weeks(), len(air.rh_pct)
    shown = "1 week" if weeks == 1 else f"{weeks} weeks"
    driest, wettest = (f"{end(air.rh_pct):.0f}" for end in (min, max))
    humidity = driest if driest == wettest else f"{driest} to {wettest}"
    return Strip(
        key="air",
        title="Air",
        sentence=f"Damp (above {air.damp_pct:.0f} %) in {damp} of {shown}; humidity {humidity} %.",
        today=days.x(today),
        months=days.months,
        line=line(days, air.days, air.rh_pct, DRIEST, WETTEST),
        levels=[scaled(air.damp_pct, DRIEST, WETTEST)],
    )
