"""Which further evidence would narrow the standing time most.

Rule (policy): the true day is taken as equally likely anywhere in the present interval of width W.
Evidence of a kind usually carries a date about ``lag`` years from the event that it bounds, and is
found in a share ``chance`` of cars. A bound that far from the true day cuts the interval by

    expected narrowing = chance x strength x (W - lag)^2 / (2 W)   while W > lag, else nothing,

the mean of what is cut off over all true days; strength is 1 for hard and 1/2 for soft evidence.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from scheduler.dating.events import Event, Side, reached
from scheduler.dating.evidence import Evidence
from scheduler.dating.kinds_table import EVIDENCE_KINDS
from scheduler.dating.odometer import NOW
from scheduler.dating.standing import StandingTime
from scheduler.vocabulary.constants import Constant, Standing
from scheduler.vocabulary.units import DAYS_PER_YEAR

SOFT_STRENGTH = Constant(0.5, "1", "a soft bound may fall again", Standing.POLICY)
OPEN_YEARS = Constant(40.0, "years", "taken where nothing bounds the event from below", Standing.POLICY)

ODOMETER_KINDS = (NOW, "odometer_reading")

# Kind: chance that a search finds it, and years between its date and the event (policy, both).
TYPICAL: dict[str, tuple[float, float]] = {
    "inspection_pass": (0.5, 0.7),
    "odometer_now": (0.6, 0.7),
    "odometer_reading": (0.4, 1.0),
    "cover_starts": (0.4, 1.0),
    "cover_ends": (0.5, 0.5),
    "licence_disc": (0.3, 0.5),
    "off_road_notice": (0.4, 0.5),
    "no_tax_no_notice": (0.1, 3.0),
    "no_online_test": (0.1, 4.0),
    "service_sticker_done": (0.3, 1.0),
    "service_sticker_due": (0.2, 1.5),
    "receipt": (0.3, 1.0),
    "tyre_code": (0.95, 4.0),
    "battery_made": (0.6, 3.0),
    "battery_fitted": (0.2, 2.0),
    "dated_part": (0.5, 5.0),
    "first_registered": (0.9, 15.0),
    "paper_under_tyre": (0.03, 1.0),
    "paper_in_cabin": (0.3, 1.0),
    "stacked_items": (0.1, 1.0),
    "tree_rings": (0.03, 3.0),
    "photographs": (0.3, 3.0),
    "storage_invoice": (0.2, 0.3),
    "fuel_ethanol": (0.1, 3.0),
    "statement": (0.5, 2.0),
    "own_record": (0.05, 0.1),
}


@dataclass(frozen=True)
class Worth:
    """What looking for one kind of evidence is worth, in days of narrowing to be expected."""

    kind: str
    label: str
    days: float
    reason: str


def most_worth_finding(items: Sequence[Evidence], standing: StandingTime, event: Event) -> tuple[Worth, ...]:
    """The kinds not yet given that would narrow ``event``, the best first; none if it is contradictory."""
    interval = standing.of(event).with_soft
    if interval.contradictory:
        return ()
    first = interval.not_before or interval.not_after - timedelta(days=OPEN_YEARS.value * DAYS_PER_YEAR)
    kinds = {item.kind for item in items}
    read = {item.kind == NOW for item in items if item.odometer_km is not None}
    worths = [_worth(name, event, (first, interval.not_after), read) for name in TYPICAL if name not in kinds]
    useful = (worth for worth in worths if worth.days > 0)
    return tuple(sorted(useful, key=lambda worth: (-worth.days, worth.kind)))


def _worth(name: str, event: Event, between: tuple[date, date], read: set[bool]) -> Worth:
    kind, (chance, lag_years) = EVIDENCE_KINDS[name], TYPICAL[name]
    lag_days, width = lag_years * DAYS_PER_YEAR, float((between[1] - between[0]).days)
    cut = cut_by_fixed(between, kind.fixed) if kind.fixed else cut_days(width, lag_days)
    reason = (
        f"turns up in about {chance:.0%} of cars, about {lag_years:g} years from the event; {kind.strength}"
    )
    return Worth(name, kind.label, chance * _strength(name, event, read) * cut, reason)


def cut_days(width: float, lag: float) -> float:
    """Mean cut in days of a bound ``lag`` days from the true day, over an interval ``width`` days wide."""
    return (width - lag) ** 2 / (2 * width) if width > lag else 0.0


def cut_by_fixed(between: tuple[date, date], fixed: date) -> float:
    """Mean cut in days of "not after ``fixed``": the part above it, times the chance that it applies."""
    first, last = between
    if not first < fixed < last:
        return 0.0
    return (last - fixed).days * (fixed - first).days / (last - first).days


def _strength(name: str, event: Event, read: set[bool]) -> float:
    """Sum over both sides of the strength with which a kind bounds the event.

    ``read`` says which odometer readings are given: now (True), dated (False). The odometer bounds
    road use only where both are there; without the other, half is counted.
    """
    if name in ODOMETER_KINDS and event is Event.ROAD_USE:
        return 1.0 if (name != NOW) in read else SOFT_STRENGTH.value
    kind = EVIDENCE_KINDS[name]
    if kind.stated:
        return len(kind.stated) * (1.0 if kind.stated_hard else SOFT_STRENGTH.value)
    claims = [claim for claim in kind.claims if event in reached(claim.event, claim.side)]
    best = {side: [claim.hard for claim in claims if claim.side is side] for side in Side}
    return sum(1.0 if any(hards) else SOFT_STRENGTH.value for hards in best.values() if hards)
