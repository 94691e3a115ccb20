"""Each kind of evidence that a standing car carries: what it bounds, how hard, and its traps."""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from scheduler.dating.events import Event, Side
from scheduler.vocabulary.cited import LOGIC, Cited


class Dated(StrEnum):
    """How a kind comes by its date."""

    BY_HAND = "typed date"
    MONTH_SHOWN = "end of the month shown"
    NEXT_DUE = "a year before the date shown"
    RINGS = "the day of counting less the rings"
    FIXED = "the rule's own date"
    TYRE_CODE = "tyre date code"
    BATTERY_CODE = "battery date code"
    NEVER = "no date follows"


@dataclass(frozen=True, slots=True)
class Claim:
    """One bound that a kind gives; ``needs`` names the question that must be answered yes."""

    event: Event
    side: Side
    hard: bool
    needs: str = ""


@dataclass(frozen=True, slots=True)
class EvidenceKind:
    """One row of the dating table.

    ``questions`` are (name, words) that a person answers yes or no. ``stated``: the sides bounded
    for the event that the person names. ``fixed``: the rule's own date.
    """

    name: str
    label: str
    claims: tuple[Claim, ...]
    strength: str
    trap: str
    source: Cited = LOGIC
    dated: Dated = Dated.BY_HAND
    questions: tuple[tuple[str, str], ...] = ()
    stated: tuple[Side, ...] = ()
    stated_hard: bool = False
    fixed: date | None = None


def lower(event: Event, *, hard: bool, needs: str = "") -> Claim:
    """The event happened on or after the date."""
    return Claim(event, Side.NOT_BEFORE, hard, needs)


def upper(event: Event, *, hard: bool, needs: str = "") -> Claim:
    """The event did not happen after the date."""
    return Claim(event, Side.NOT_AFTER, hard, needs)
