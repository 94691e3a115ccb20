"""From one piece of evidence to the bounds that it gives, with every reading that its code allows."""

from dataclasses import dataclass
from datetime import date, timedelta

from scheduler.dating.codes import Span, month_end, read_battery_code, read_tyre_code
from scheduler.dating.events import Event, Side
from scheduler.dating.kinds import Claim, Dated, EvidenceKind
from scheduler.dating.kinds_table import kind_named
from scheduler.vocabulary.constants import Constant, Standing
from scheduler.vocabulary.errors import BadInput
from scheduler.vocabulary.units import DAYS_PER_YEAR

STICKER_INTERVAL = Constant(1.0, "years", "garages note the next yearly service", Standing.POLICY)
RINGS_LEFT_OFF = Constant(1.0, "rings", "the ring of the current year may not be whole", Standing.POLICY)
MOST_RINGS = 500  # a larger count is a slip of the pen


@dataclass(frozen=True)
class Evidence:
    """One find. ``key`` names it in answers; ``on`` to ``until`` is the range in which its date lies.

    ``hard``: overrules the kind's own strength when given. ``answers``: the questions of its kind
    answered yes. ``event``: for statements and own records, which last day is meant. ``count``: rings.
    """

    key: str
    kind: str
    on: date | None = None
    until: date | None = None
    odometer_km: float | None = None
    code: str = ""
    count: int | None = None
    event: Event | None = None
    answers: frozenset[str] = frozenset()
    hard: bool | None = None
    note: str = ""


@dataclass(frozen=True)
class Bound:
    """One bound on one event; several ``spans`` where the code can be read in several ways."""

    key: str
    event: Event
    side: Side
    hard: bool
    spans: tuple[Span, ...]

    def day(self, span: Span) -> date:
        """The safe end of a span: its first day for "not before", its last for "not after"."""
        return span.first if self.side is Side.NOT_BEFORE else span.last

    @property
    def weakest(self) -> date:
        """The day that holds whichever reading is right."""
        days = [self.day(span) for span in self.spans]
        return min(days) if self.side is Side.NOT_BEFORE else max(days)


def spans_of(item: Evidence, today: date) -> tuple[Span, ...]:
    """Every range of days that the item's date can lie in; empty for kinds that give no date."""
    kind = kind_named(item.kind)
    if kind.dated is Dated.TYRE_CODE and not item.on:
        return read_tyre_code(item.code, today, triangle="triangle" in item.answers)
    if kind.dated is Dated.BATTERY_CODE and not item.on:
        return read_battery_code(item.code, today)
    if kind.dated is Dated.FIXED and kind.fixed:
        return (Span(kind.fixed, kind.fixed, kind.label),)
    if kind.dated is Dated.NEVER or not (kind.claims or kind.stated):
        return ()
    return (_typed(item, kind, today),)


def _typed(item: Evidence, kind: EvidenceKind, today: date) -> Span:
    if item.on is None:
        raise BadInput("on", f"{kind.label}: needs a date")
    last = item.until or item.on
    if last < item.on:
        raise BadInput("until", f"{kind.label}: ends before it begins")
    if item.on > today and kind.dated is Dated.BY_HAND and _says_it_happened(kind):
        raise BadInput("on", f"{kind.label}: {item.on.isoformat()} has not come yet")
    return _reckoned(item, kind, item.on, last)


def _says_it_happened(kind: EvidenceKind) -> bool:
    return any(claim.side is Side.NOT_BEFORE for claim in kind.claims) or bool(kind.stated)


def _reckoned(item: Evidence, kind: EvidenceKind, first: date, last: date) -> Span:
    shift = timedelta()
    if kind.dated is Dated.MONTH_SHOWN:
        last = month_end(last)
    if kind.dated is Dated.NEXT_DUE:
        shift = timedelta(days=round(STICKER_INTERVAL.value * DAYS_PER_YEAR))
    if kind.dated is Dated.RINGS:
        shift = timedelta(days=int((_rings(item) - RINGS_LEFT_OFF.value) * DAYS_PER_YEAR))
    return Span(first - shift, last - shift, item.note or kind.label)


def _rings(item: Evidence) -> int:
    if item.count is None or not 1 <= item.count <= MOST_RINGS:
        raise BadInput("count", f"say how many rings were counted, 1 to {MOST_RINGS}")
    return item.count


def claims_of(item: Evidence) -> tuple[Claim, ...]:
    """What the item claims, with the questions answered and the event named."""
    kind = kind_named(item.kind)
    if kind.stated:
        if item.event is None:
            raise BadInput("event", f"{kind.label}: say which last day is meant")
        return tuple(Claim(item.event, side, kind.stated_hard) for side in kind.stated)
    return tuple(claim for claim in kind.claims if not claim.needs or claim.needs in item.answers)


def bounds_of(item: Evidence, today: date) -> tuple[Bound, ...]:
    """The bounds that one item gives on the events it names, before they are carried to others."""
    spans = spans_of(item, today)
    if not spans:
        return ()
    return tuple(
        Bound(item.key, claim.event, claim.side, claim.hard if item.hard is None else item.hard, spans)
        for claim in claims_of(item)
    )
