"""When a car last moved, ran, was driven and attended: a lane an event, the evidence as marks on it.

The lanes are stretched to whatever width there is, so nothing in them is text; on paper the same shares of
the width are drawn by the typesetter.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from collection.drawing.days import format_day
from collection.drawing.strips import WIDTH, Days

MOST_COLUMNS = 6  # of years below the lanes: as many as a phone can show
STEPS = (1, 2, 5, 10, 20, 50)  # years a column


@dataclass(frozen=True)
class Mark:
    """One bound: the event lies on or after the day, or on or before it."""

    x: float
    after: bool
    hard: bool
    text: str


@dataclass(frozen=True)
class Lane:
    """One event: its interval (from, width) with hard evidence alone and with soft; None: contradictory."""

    event: str
    interval: str
    hard: tuple[float, float] | None
    soft: tuple[float, float] | None
    marks: tuple[Mark, ...]


@dataclass(frozen=True)
class StandingDrawing:
    """The lanes over common years; ``years``: where each column begins."""

    lanes: tuple[Lane, ...]
    years: tuple[int, ...]
    today: float


def draw_standing(standing: Any, today: date) -> StandingDrawing:
    """The four events as the evidence has them."""
    ends = [day for one in standing.time.events for day in _ends(one.with_soft) + _ends(one.hard) if day]
    bounds = [bound.day(span) for bound in standing.time.bounds if bound.hard for span in bound.spans]
    first = min([*ends, today] if ends else [*bounds, today]).year
    step = next(
        step for step in STEPS if (today.year + 1 - first) <= step * MOST_COLUMNS or step == STEPS[-1]
    )
    first -= first % step
    years = tuple(range(first, today.year + 1, step))
    days = Days(date(first, 1, 1), date(years[-1] + step, 1, 1))
    lanes = tuple(_lane(one, standing, days) for one in standing.time.events)
    return StandingDrawing(lanes, years, days.x(today))


def _lane(one: Any, standing: Any, days: Days) -> Lane:
    marks = [
        Mark(
            days.x(bound.day(span)),
            bound.side == "not before",
            bound.hard,
            f"{'not before' if bound.side == 'not before' else 'not after'} {format_day(bound.day(span))}: "
            f"{standing.labels.get(bound.key, bound.key)}, {span.text}",
        )
        for bound in standing.time.bounds
        if bound.event is one.event
        for span in bound.spans
    ]
    return Lane(
        one.event.value.capitalize(),
        format_interval(one.with_soft),
        _bar(one.hard, days),
        _bar(one.with_soft, days),
        tuple(marks),
    )


def _ends(interval: Any) -> tuple[date | None, ...]:
    return () if interval.contradictory else (interval.not_before, interval.not_after)


def _bar(interval: Any, days: Days) -> tuple[float, float] | None:
    if interval.contradictory:
        return None
    begin = days.x(interval.not_before) if interval.not_before else 0.0
    return begin, round(max(days.x(interval.not_after) - begin, WIDTH / 200), 1)


def format_interval(interval: Any) -> str:
    """An interval in words."""
    first, last = interval.not_before, interval.not_after
    if interval.contradictory:
        return f"contradictory: not before {format_day(first)}, yet not after {format_day(last)}"
    if first is None:
        return f"before {format_day(last)}, from when is open"
    return format_day(first) if first == last else f"{format_day(first)} to {format_day(last)}"


def shares(drawing: StandingDrawing) -> dict[str, Any]:
    """The same for the typesetter: everything as a share of the width."""

    def share(pair: Sequence[float] | None) -> list[float] | None:
        return [value / WIDTH for value in pair] if pair else None

    return {
        "years": list(drawing.years),
        "today": drawing.today / WIDTH,
        "lanes": [
            {
                "event": lane.event,
                "interval": lane.interval,
                "hard": share(lane.hard),
                "soft": share(lane.soft),
                "marks": [[mark.x / WIDTH, mark.after, mark.hard] for mark in lane.marks],
            }
            for lane in drawing.lanes
        ],
    }
