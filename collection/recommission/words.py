"""A car's recommissioning as pages tell it: intervals, what contradicts, how long it stood, money."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from collection.drawing.days import format_day
from collection.recommission.standing_drawing import format_interval

YEAR, MONTH = 365.25, 30.44
# the shape of each state, beside its word
MARKS = {
    "stop": "✕",
    "not done": "○",
    "could not be done": "–",
    "passed for now, still open": "◐",
    "caution": "▲",
    "pass": "✓",
}


def span_words(days: float) -> str:
    """Days as people say them."""
    if days < 2 * MONTH:
        return "1 day" if round(days) == 1 else f"{days:.0f} days"
    return f"{days / MONTH:.0f} months" if days < 2 * YEAR else f"{days / YEAR:.1f} years"


def stood_words(shortest: float, longest: float | None) -> str:
    """Shortest to longest standing time in words."""
    if longest is None:
        return f"{span_words(shortest)} or more: nothing bounds it from below"
    low, high = span_words(shortest), span_words(longest)
    return low if low == high else f"{low} to {high}"


@dataclass(frozen=True)
class EventLine:
    """One of the four events in words."""

    event: str
    hard: str
    soft: str
    stood: str
    by: str
    readings: tuple[str, ...]  # what an ambiguous code leaves possible
    worth: Sequence[Any]


def event_lines(standing: Any, today: date) -> list[EventLine]:
    """The four events with both intervals, what sets them, and what is worth finding."""
    return [_line(standing, one, today) for one in standing.time.events]


def _line(standing: Any, one: Any, today: date) -> EventLine:
    days = one.with_soft.standing_days(today)
    kept = one.with_soft
    by = [standing.labels.get(key, key) for key in (kept.not_before_by, kept.not_after_by) if key]
    readings = tuple(
        f"{scenario.text}: from {format_day(scenario.not_before)}" for scenario in kept.scenarios
    )
    return EventLine(
        one.event.value.capitalize(),
        format_interval(one.hard),
        format_interval(kept),
        stood_words(*days) if days else "the evidence contradicts itself: no length is given",
        " and ".join(dict.fromkeys(by)),
        readings if len(readings) > 1 else (),
        standing.worth[one.event],
    )


def clashes(standing: Any) -> list[tuple[str, str, str]]:
    """Each contradiction: the two items by their words, and what they say."""
    return [
        (standing.labels.get(c.first, c.first), standing.labels.get(c.second, c.second), c.text)
        for c in standing.time.contradictions
    ]


def excluded(standing: Any) -> list[str]:
    """Each reading of a code that other evidence rules out."""
    return [
        f"{standing.labels.get(e.key, e.key)}: {e.text} is ruled out by {standing.labels.get(e.by, e.by)}"
        for e in standing.time.excluded
    ]


def money(triple: tuple[float, float, float], currency: str) -> str:
    """Low to high with the likely, rounded as an estimate deserves."""
    low, likely, high = (round(value, -1) for value in triple)
    return f"{currency} {likely:,.0f} ({low:,.0f} to {high:,.0f})"


def hours(triple: tuple[float, float, float]) -> str:
    """Hours, likely first."""
    low, likely, high = triple
    return f"{likely:.0f} h ({low:.0f} to {high:.0f})"
