"""What the odometer now says beside each dated reading.

Rules: the same figure as at a dated reading: no road use after that day (a few kilometres are the
way home from the test, within days). More: road use after that day. Less: a contradiction, because
an odometer does not run back (a swap, a rolled-over dial, a slip of the pen).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from scheduler.dating.codes import Span
from scheduler.dating.events import Event, Side
from scheduler.dating.evidence import Bound, Evidence
from scheduler.vocabulary.constants import Constant, Standing
from scheduler.vocabulary.errors import BadInput

WAY_HOME_KM = Constant(20.0, "km", "from the test to the place of rest", Standing.POLICY)
WAY_HOME_DAYS = Constant(7.0, "days", "fetched from the garage within a week", Standing.POLICY)
NOW = "odometer_now"
NEVER_BACK = "an odometer does not run back"
WORKS = "instrument_works"
MOST_KM = 3_000_000.0  # more is a slip of the pen


@dataclass(frozen=True)
class Clash:
    """Two items that cannot both be right."""

    first: str
    second: str
    text: str


def _checked(items: Sequence[Evidence]) -> list[Evidence]:
    for item in items:
        if item.odometer_km is not None and not 0 <= item.odometer_km <= MOST_KM:
            raise BadInput("odometer_km", f"{item.odometer_km:g} km is outside 0 to {MOST_KM:g} km")
        if item.kind == NOW and item.odometer_km is None:
            raise BadInput("odometer_km", "the odometer now needs its figure")
    return [item for item in items if item.odometer_km is not None]


def _dated(items: Sequence[Evidence]) -> list[Evidence]:
    return [item for item in _checked(items) if item.kind != NOW and item.on is not None]


def odometer_bounds(items: Sequence[Evidence]) -> list[Bound]:
    """A bound on road use from every pair of a dated reading and the odometer now."""
    nows = [item for item in _checked(items) if item.kind == NOW]
    pairs = [(now, then) for now in nows for then in _dated(items)]
    return [bound for now, then in pairs if (bound := _bound(now, then)) is not None]


def _bound(now: Evidence, then: Evidence) -> Bound | None:
    driven = (now.odometer_km or 0.0) - (then.odometer_km or 0.0)
    if driven < 0 or then.on is None:
        return None
    hard = WORKS in now.answers
    first, last = then.on, then.until or then.on
    if driven > WAY_HOME_KM.value:
        text = f"{driven:.0f} km more than on {first.isoformat()}"
        return Bound(then.key, Event.ROAD_USE, Side.NOT_BEFORE, hard, (Span(first, last, text),))
    days = WAY_HOME_DAYS.value if driven > 0 else 0.0
    text = f"{driven:.0f} km more than on {last.isoformat()}: no road use since"
    span = Span(first, last + timedelta(days=days), text)
    return Bound(then.key, Event.ROAD_USE, Side.NOT_AFTER, hard, (span,))


def odometer_clashes(items: Sequence[Evidence]) -> list[Clash]:
    """Every pair of readings in which the later one is lower."""
    readings = sorted(_checked(items), key=_when)
    return [
        Clash(earlier.key, later.key, f"{_figure(later)}, after {_figure(earlier)}: {NEVER_BACK}")
        for i, earlier in enumerate(readings)
        for later in readings[i + 1 :]
        if _surely_before(earlier, later) and (later.odometer_km or 0.0) < (earlier.odometer_km or 0.0)
    ]


def _when(item: Evidence) -> tuple[date, str]:
    return (date.max if item.kind == NOW else item.on or date.max), item.key


def _surely_before(earlier: Evidence, later: Evidence) -> bool:
    if earlier.kind == NOW or earlier.on is None:
        return False
    return later.kind == NOW or (later.on is not None and (earlier.until or earlier.on) < later.on)


def _figure(item: Evidence) -> str:
    when = "now" if item.kind == NOW or item.on is None else f"on {item.on.isoformat()}"
    return f"{item.odometer_km:.0f} km {when}"
