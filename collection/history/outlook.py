"""The condition outlook in plain words: each system, what is likely, why, what it needs next, its cost.

Outlook and estimate are those of its recommissioning pages, whatever its regime: one answer everywhere.
"""

from dataclasses import dataclass
from datetime import date

from collection.life.duties import DUTY_TITLES
from collection.models import Organisation, Vehicle
from collection.recommission.core.plan import Need, Part, Recommissioning, build_recommissioning, needs_of
from collection.recommission.queries import recommissioning_record
from collection.recommission.words import money, stood_sentence

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
    unknown: str
    sound: str
    next: str
    repairs: str
    cost: str


@dataclass(frozen=True)
class Condition:
    """Every system, and the cost of all together, which never stands without its parts.

    ``look``: the one look at the car that would settle most. ``plan``: what recommissioning asks for beside
    the repairs, as one cost; empty of a car in care.
    """

    stood: str
    look: str
    lines: tuple[OutlookLine, ...]
    plan: str
    total: str
    money: tuple[float, float, float]
    is_bounded: bool  # else nobody knows what is likely, and the total is a range alone


def condition(vehicle: Vehicle, *, prices: bool, today: date) -> Condition:
    """The outlook of one car; its duties must be fresh. ValueError where the record does not allow it."""
    made = build_recommissioning(recommissioning_record(vehicle), today=today)
    keeper, cost = vehicle.organisation, made.estimate
    return Condition(
        stood_sentence(made.stood),
        _look(made),
        tuple(_line(need, made, keeper if prices else None) for need in needs_of(made)),
        money(cost.of_system(""), keeper, known=made.is_bounded) if prices and made.underway else "",
        money(cost.money, keeper, known=made.is_bounded) if prices else "",
        cost.money,
        made.is_bounded,
    )


def _look(made: Recommissioning) -> str:
    """At the part whose trouble is most open: nobody knows, or about even; empty where all is plain."""
    open_parts = [
        part for part in made.outlook if not part.is_known or TOLD_FROM <= part.likely <= 1 - TOLD_FROM
    ]
    if not open_parts:
        return ""
    most = max(open_parts, key=lambda part: 1.0 if not part.is_known else part.likely * (1 - part.likely))
    return f"One look settles most: {most.label.lower()}. {most.first_look}"


def _line(need: Need, made: Recommissioning, keeper: Organisation | None) -> OutlookLine:
    unknown = [part.label.lower() for part in need.parts if not part.is_known]
    likely = [part for part in need.parts if part.is_known and part.likely >= TOLD_FROM]
    fine = [part.label.lower() for part in need.parts if part.is_known and part.likely < TOLD_FROM]
    return OutlookLine(
        need.title,
        tuple(_part(part, stood_sentence(made.stood)) for part in likely),
        f"Nobody knows: {', '.join(unknown)}." if unknown else "",
        f"Likely fine: {', '.join(fine)}." if fine else "",
        ", ".join(DUTY_TITLES[duty].lower() for duty in need.duties),
        "; ".join(need.repairs),
        money(need.cost, keeper, known=made.is_bounded) if keeper else "",
    )


def _part(part: Part, known: str) -> PartLine:
    """``known`` stands above all parts, and is not said again of each."""
    reasons = [reason for reason in part.reasons if reason.lower() != known.rstrip(".").lower()]
    return PartLine(
        part.label, part.range_in_words, part.state, "; ".join(reasons), part.first_look, part.do_not
    )
