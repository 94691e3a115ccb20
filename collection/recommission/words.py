"""A car's recommissioning as pages tell it: intervals, what contradicts, how long it stood, money."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from collection.drawing.days import format_day
from collection.models import Organisation
from collection.recommission.core.standing import span, stood_text
from collection.recommission.standing_drawing import format_interval

Triple = tuple[float, float, float]
# the shape of each state, beside its word
MARKS = {
    "stop": "✕",
    "not done": "○",
    "could not be done": "–",
    "passed for now, still open": "◐",
    "caution": "▲",
    "pass": "✓",
}


def stood_sentence(stood: Any) -> str:
    """How long it has stood, as a sentence."""
    shortest, longest = stood.days
    words = stood_text(shortest, longest, stood.since)
    return f"{words[:1].upper()}{words[1:]}."


def _stood_cell(stood: Any) -> str:
    shortest, longest = stood.days
    if longest is None:
        return "nobody knows" if round(shortest) < 1 else f"at least {span(shortest)}"
    low, high = span(shortest), span(longest)
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
    kept = one.with_soft
    by = [standing.labels.get(key, key) for key in (kept.not_before_by, kept.not_after_by) if key]
    readings = tuple(
        f"{scenario.text}: from {format_day(scenario.not_before)}" for scenario in kept.scenarios
    )
    return EventLine(
        one.event.value.capitalize(),
        format_interval(one.hard),
        format_interval(kept),
        "the evidence contradicts itself: no length is given"
        if kept.contradictory
        else _stood_cell(standing.spell(one.event, today)),
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


NOTHING_NOW = "nothing now"


def money(triple: Triple, keeper: Organisation, *, known: bool) -> str:
    """Likely first, then the range, in the keeper's money and to two figures: it is an estimate.

    Not ``known``: the range alone, for nobody knows what is likely.
    """
    low, likely, high = map(_rough, triple)
    if not high:
        return NOTHING_NOW
    sign = f"{keeper.money} " if keeper.money else ""
    if low == high:
        return f"{sign}{low:,}"
    return f"{sign}{likely:,} ({low:,} to {high:,})" if known else f"{sign}{low:,} to {high:,}"


def _rough(value: float) -> int:
    places = -2 if value >= 1000 else -1 if value >= 100 else 0
    return int(round(value, places))


def hours(triple: Triple, *, known: bool) -> str:
    """Hours, likely first; not ``known``: the range alone."""
    low, likely, high = triple
    return f"{likely:.0f} h ({low:.0f} to {high:.0f})" if known else f"{low:.0f} to {high:.0f} h"
