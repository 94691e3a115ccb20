"""The condition outlook in plain words: each system, what is likely, why, what it needs next, its cost."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from collection.care.queries.care import day_of
from collection.due.core.upkeep import Money, Need, Part, Seen, outlook_of
from collection.due.queries.prices import own_rates
from collection.history.core.standing import days_by_evidence
from collection.history.queries.history import unmended
from collection.life.duties import DUTY_TITLES, INSPECTION, DutyLine
from collection.models import CareKind, Entry, Organisation, Vehicle

ASKED = ("act_now", "this_week")  # states in which a duty falls to be done now
TOLD_FROM = 0.10  # policy: a part less likely to be in trouble than this is told as sound


@dataclass(frozen=True)
class PartLine:
    """One part that standing may have told on: likelihood in words, what it would look like, why."""

    label: str
    words: str
    state: str
    reasons: str
    first_look: str
    do_not: str


@dataclass(frozen=True)
class OutlookLine:
    """One system; ``cost`` is empty where prices are not told."""

    title: str
    parts: tuple[PartLine, ...]
    sound: str
    next: str
    repairs: str
    cost: str


@dataclass(frozen=True)
class Condition:
    """Every system, and the cost of all together, which never stands without its parts."""

    lines: tuple[OutlookLine, ...]
    total: str
    money: Money


def condition(
    vehicle: Vehicle, now: Sequence[DutyLine], entries: Sequence[Entry], *, prices: bool, today: date
) -> Condition:
    """The outlook of one car; ``now`` are its duties as they stand, ``entries`` its log, oldest first."""
    states = {line.duty: line.state for line in now if not line.name}  # own ones tell nothing of its parts
    estimate = outlook_of(
        vehicle,
        late=[duty for duty, state in states.items() if state == "act_now"],
        asked=[duty for duty, state in states.items() if state in ASKED],
        seen=_seen(entries, on_time=states.get(INSPECTION) != "act_now"),
        own=own_rates(vehicle.organisation),
        evidence=days_by_evidence(vehicle, today=today),
        today=today,
    )
    lines = tuple(_line(need, vehicle.organisation, prices) for need in estimate.needs)
    return Condition(lines, say(estimate.total, vehicle.organisation) if prices else "", estimate.total)


def _seen(entries: Sequence[Entry], *, on_time: bool) -> Seen:
    """A clean inspection speaks for today as long as the next is not overdue."""
    looks = [entry for entry in entries if entry.kind == CareKind.INSPECTED]
    clean = day_of(looks[-1]) if looks and looks[-1].details.get("ok") and on_time else None
    return Seen(tuple((day, words) for _, day, words in unmended(entries)), clean)


def _line(need: Need, organisation: Organisation, prices: bool) -> OutlookLine:
    likely = [part for part in need.parts if part.likely >= TOLD_FROM]
    fine = [part.label.lower() for part in need.parts if part.likely < TOLD_FROM]
    asked = [DUTY_TITLES[duty].lower() for duty in need.duties]
    return OutlookLine(
        need.title,
        tuple(_part(part) for part in likely),
        f"Likely fine: {', '.join(fine)}." if fine else "",
        ", ".join(asked),
        "; ".join(need.repairs),
        say(need.cost, organisation) if prices else "",
    )


def _part(part: Part) -> PartLine:
    return PartLine(
        part.label, part.range_in_words, part.state, "; ".join(part.reasons), part.first_look, part.do_not
    )


def say(cost: Money, organisation: Organisation) -> str:
    """A cost from least to most in the organisation's money, to two figures: it is an estimate."""
    if not cost.high:
        return "nothing now"
    low, high = _rough(cost.low), _rough(cost.high)
    money = f"{organisation.money} " if organisation.money else ""
    return f"{money}{low:,}" if low == high else f"{money}{low:,} to {high:,}"


def _rough(value: float) -> int:
    return int(round(value, -1)) if value < 1000 else int(round(value, -2))
