"""How long a car has stood: evidence in, an interval for each of the four last events out.

What happens: each find bounds one event from one side. The latest "not before" and the earliest
"not after" leave an interval. Where they cross, the evidence contradicts itself: both items are
named and nothing is averaged. A code that can be read in several ways is carried as alternatives;
a reading that hard facts exclude is said to be excluded.

Rule: standing time = today - [latest lower bound, earliest upper bound].
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from scheduler.dating.codes import Span
from scheduler.dating.events import Event, Side, reached
from scheduler.dating.evidence import Bound, Evidence, bounds_of
from scheduler.dating.odometer import Clash, odometer_bounds, odometer_clashes
from scheduler.vocabulary.errors import BadInput

FOUND = "found"  # the key of the one bound that needs no evidence: the day that the car was found


@dataclass(frozen=True)
class Scenario:
    """One reading of the codes: the interval's lower end if it is right."""

    not_before: date
    key: str
    text: str


@dataclass(frozen=True)
class Interval:
    """When one last event happened. ``contradictory`` intervals have no middle and no length.

    ``not_before`` is None where nothing bounds the event from below. ``scenarios``: the lower ends
    that remain possible where a code is ambiguous (one entry where none is).
    """

    not_before: date | None
    not_after: date
    not_before_by: str
    not_after_by: str
    scenarios: tuple[Scenario, ...]
    contradictory: bool

    def standing_days(self, today: date) -> tuple[int, int | None] | None:
        """Shortest and longest standing time in days; None if contradictory, longest None if open."""
        if self.contradictory:
            return None
        longest = None if self.not_before is None else (today - self.not_before).days
        return (today - self.not_after).days, longest


@dataclass(frozen=True)
class EventStanding:
    """One event with hard evidence alone, and with the soft as well."""

    event: Event
    hard: Interval
    with_soft: Interval


@dataclass(frozen=True)
class Excluded:
    """A reading of a code that other evidence rules out."""

    key: str
    text: str
    by: str


@dataclass(frozen=True)
class StandingTime:
    """The answer: four events, every contradiction, every reading ruled out, every bound for the chart."""

    events: tuple[EventStanding, ...]
    contradictions: tuple[Clash, ...]
    excluded: tuple[Excluded, ...]
    bounds: tuple[Bound, ...]

    def of(self, event: Event) -> EventStanding:
        """The standing of one event."""
        return next(standing for standing in self.events if standing.event is event)


def standing_time(items: Sequence[Evidence], found: date, today: date) -> StandingTime:
    """What the items say about the four last events of a car found on ``found``, in any order of items.

    BadInput: found after today, or two items with one key.

    >>> from scheduler.dating.events import Event
    >>> receipt = Evidence("receipt", "receipt", date(2009, 5, 3))
    >>> answer = standing_time([receipt], date(2026, 11, 20), date(2026, 11, 25))
    >>> answer.of(Event.ROAD_USE).with_soft.not_before.isoformat()
    '2009-05-03'
    """
    if found > today:
        raise BadInput("found", "the car cannot be found after today")
    if len({item.key for item in items} | {FOUND}) <= len(items):
        raise BadInput("key", "each item needs its own key, and none may be called 'found'")
    bounds = all_bounds(items, found, today)
    clashes = {(clash.first, clash.second): clash for clash in odometer_clashes(items)}
    for event in Event:
        clashes |= {
            (c.first, c.second): c for c in _clashes(_on(event, bounds)) if (c.first, c.second) not in clashes
        }
    return StandingTime(
        tuple(_event(event, bounds) for event in Event),
        tuple(clashes[pair] for pair in sorted(clashes)),
        _excluded(bounds),
        bounds,
    )


def all_bounds(items: Sequence[Evidence], found: date, today: date) -> tuple[Bound, ...]:
    """Every direct bound, sorted so that the order of the items never matters."""
    day_found = Span(found, found, "the day the car was found")
    bounds = [Bound(FOUND, Event.ATTENDED, Side.NOT_AFTER, True, (day_found,))]
    bounds += [bound for item in items for bound in bounds_of(item, today)]
    bounds += odometer_bounds(items)
    return tuple(sorted(bounds, key=lambda b: (b.weakest, b.key, b.event, b.side)))


def _on(event: Event, bounds: Sequence[Bound]) -> list[Bound]:
    """The bounds that hold for ``event``, those carried over from other events among them."""
    return [bound for bound in bounds if event in reached(bound.event, bound.side)]


def _event(event: Event, bounds: Sequence[Bound]) -> EventStanding:
    on_event = _on(event, bounds)
    hard = [bound for bound in on_event if bound.hard]
    return EventStanding(event, _interval(hard), _interval(on_event))


def _interval(bounds: Sequence[Bound]) -> Interval:
    uppers = [bound for bound in bounds if bound.side is Side.NOT_AFTER]
    lowers = [bound for bound in bounds if bound.side is Side.NOT_BEFORE]
    top = min(uppers, key=lambda bound: (bound.weakest, bound.key))
    if not lowers:
        return Interval(None, top.weakest, "", top.key, (), False)
    base = max(lowers, key=lambda bound: (bound.weakest, bound.key))
    crossed = base.weakest > top.weakest
    scenarios = () if crossed else _scenarios(lowers, base, top.weakest)
    return Interval(base.weakest, top.weakest, base.key, top.key, scenarios, crossed)


def _scenarios(lowers: Sequence[Bound], base: Bound, last: date) -> tuple[Scenario, ...]:
    """Every lower end that some choice of readings gives: at or after the weakest, not after ``last``."""
    ends = {
        bound.day(span): Scenario(bound.day(span), bound.key, span.text)
        for bound in sorted(lowers, key=lambda bound: (bound is base, bound.key))
        for span in bound.spans
        if base.weakest <= bound.day(span) <= last
    }
    return tuple(ends[day] for day in sorted(ends))


def _clashes(bounds: Sequence[Bound]) -> list[Clash]:
    """Every "not before" that lies after a "not after", whichever reading is taken."""
    return [
        Clash(
            low.key,
            high.key,
            f"{low.event} not before {low.weakest.isoformat()} against "
            f"{high.event} not after {high.weakest.isoformat()}",
        )
        for low in bounds
        if low.side is Side.NOT_BEFORE
        for high in bounds
        if high.side is Side.NOT_AFTER
        if low.weakest > high.weakest
    ]


def _excluded(bounds: Sequence[Bound]) -> tuple[Excluded, ...]:
    """Readings of ambiguous codes that hard upper bounds rule out, while another reading remains."""
    excluded = {}
    for event in Event:
        on_event = [bound for bound in _on(event, bounds) if bound.hard]
        top = min((b for b in on_event if b.side is Side.NOT_AFTER), key=lambda b: (b.weakest, b.key))
        for bound in on_event:
            for span in bound.spans if bound.side is Side.NOT_BEFORE and bound.weakest <= top.weakest else ():
                if bound.day(span) > top.weakest:
                    excluded[bound.key, span.text] = Excluded(bound.key, span.text, top.key)
    return tuple(excluded[pair] for pair in sorted(excluded))
