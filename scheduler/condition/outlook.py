"""What has probably failed: for each system a state, a likelihood in words, and the reasons.

Rule: the published onset, moved by what is known of place, fuel and care, gives the chance at the
shortest and at the longest standing time; what somebody has found at the car overrules it.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from math import prod, sqrt

from scheduler.condition.claims import Claim, Says
from scheduler.condition.likelihood import chance_after, in_words
from scheduler.condition.systems import HASTENS, SPARES, SYSTEMS, System
from scheduler.dating.events import Event
from scheduler.dating.standing import FOUND, StandingTime
from scheduler.physics.checks import within
from scheduler.vocabulary.constants import Constant, Standing
from scheduler.vocabulary.errors import BadInput
from scheduler.vocabulary.units import DAYS_PER_YEAR

LONGEST = Constant(60.0, "years", "taken where nothing bounds the standing time", Standing.POLICY)
FOUND_BAD = Constant(0.97, "1", "a fault that somebody saw", Standing.POLICY)
UNSEEN = Constant(0.3, "1", "where nobody looked for rodents, anything may be", Standing.POLICY, 0.05, 0.9)
FOUND_GOOD = Constant(0.05, "1", "seen to be good, and still to be measured", Standing.POLICY)
NOBODY_KNOWS = "nobody knows"
# Damp is not among them: it comes as a share of the year.
CONDITIONS = tuple(name for name in (*HASTENS, *SPARES) if name != "damp")


class Seen(StrEnum):
    """What a person found when looking at a system."""

    FAULTY = "faulty"
    GOOD = "good"


@dataclass(frozen=True)
class Finding:
    """What was seen at one system, in a person's words."""

    system: str
    seen: Seen
    text: str


@dataclass(frozen=True)
class Stood:
    """How a car has stood: shortest and longest days (None: unknown), damp share 0 to 1, conditions.

    ``conditions`` are names in ``CONDITIONS``: causes that hasten trouble and care that spares it.
    ``is_known``: False where nothing but its age bounds the longest. ``since``: what, in words.
    """

    shortest_days: float
    longest_days: float | None
    damp_share: float = 0.5
    conditions: frozenset[str] = frozenset()
    is_known: bool = True
    since: str = ""

    @property
    def days(self) -> tuple[float, float | None]:
        """Shortest and longest as they are told: None where nobody knows."""
        return self.shortest_days, self.longest_days if self.is_known else None


def spell_of(standing: StandingTime, event: Event, today: date, by_age: Collection[str] = ()) -> Stood:
    """How long it has stood since one event; ``by_age``: keys of evidence that it was there, not used.

    Where soft evidence contradicts, hard evidence alone counts; where that does too, nothing is known
    but the day it was found.
    """
    answer, since = standing.of(event), f"its last {event}"
    for interval in (answer.with_soft, answer.hard):
        if (days := interval.standing_days(today)) is not None:
            silent = interval.not_after_by == FOUND and interval.not_before_by in {"", *by_age}
            return Stood(days[0], days[1], is_known=not silent, since=since)
    found = next(bound.weakest for bound in standing.bounds if bound.key == FOUND)
    return Stood((today - found).days, None, is_known=False, since=since)


@dataclass(frozen=True)
class SystemOutlook:
    """One system: chance at the shortest, middle and longest standing, and what to do about it."""

    system: str
    label: str
    low: float
    likely: float
    high: float
    words: str
    range_in_words: str
    state: str
    claims: tuple[Claim, ...]
    first_look: str
    do_not: str
    source: str
    standing: Standing
    is_seen: bool = False  # somebody saw the trouble
    is_known: bool = True  # False: nobody knows how long it stood, or nobody has looked

    @property
    def reasons(self) -> tuple[str, ...]:
        """Its claims in words."""
        return tuple(claim.text for claim in self.claims)


def outlook(stood: Stood, findings: Sequence[Finding] = ()) -> tuple[SystemOutlook, ...]:
    """Every system, in the order of the table.

    >>> first = outlook(Stood(2000, 4000))[0]
    >>> 0 <= first.low <= first.likely <= first.high <= 1
    True
    """
    _check(stood, findings)
    return tuple(_system(system, stood, findings) for system in SYSTEMS)


def _check(stood: Stood, findings: Sequence[Finding]) -> None:
    within("damp_share", stood.damp_share, 0.0, 1.0, "", "a share of the year")
    longest = stood.shortest_days if stood.longest_days is None else stood.longest_days
    if not 0 <= stood.shortest_days <= longest:
        raise BadInput("shortest_days", "must be zero or above, and not above the longest")
    if strange := stood.conditions - set(CONDITIONS):
        raise BadInput("conditions", f"{', '.join(sorted(strange))}: none of {', '.join(CONDITIONS)}")
    names = {system.name for system in SYSTEMS}
    if unknown := {finding.system for finding in findings} - names:
        raise BadInput("system", f"{', '.join(sorted(unknown))}: none of {', '.join(sorted(names))}")


def _system(system: System, stood: Stood, findings: Sequence[Finding]) -> SystemOutlook:
    low, likely, high = _chances(system, stood)
    claims, relevant = _claims(system, stood), _about(system, findings)
    if relevant:
        claims = tuple(claim for claim in claims if claim.says is not Says.UNSEEN)
    for finding in relevant:
        low = likely = high = FOUND_BAD.value if finding.seen is Seen.FAULTY else FOUND_GOOD.value
        claims = (Claim(Says.FOUND, about=finding.text), *claims)
    rungs = dict.fromkeys((in_words(low), in_words(high)))
    known = bool(relevant) or len(rungs) == 1 or (stood.days[1] is not None and not system.by_finds)
    return SystemOutlook(
        system.name,
        system.label,
        low,
        likely,
        high,
        in_words(likely) if known else NOBODY_KNOWS,
        " to ".join(rungs) if known else NOBODY_KNOWS,
        system.state,
        claims,
        system.first_look,
        system.do_not,
        system.onset.source,
        system.onset.standing,
        any(finding.seen is Seen.FAULTY for finding in relevant),
        known,
    )


def _about(system: System, findings: Sequence[Finding]) -> list[Finding]:
    """The findings on one system; a fault outweighs a good word, so it comes last."""
    own = [finding for finding in findings if finding.system == system.name]
    return sorted(own, key=lambda finding: (finding.seen is Seen.FAULTY, finding.text))


def _chances(system: System, stood: Stood) -> tuple[float, float, float]:
    if system.by_finds:
        return UNSEEN.range
    longest = LONGEST.value * DAYS_PER_YEAR if stood.longest_days is None else stood.longest_days
    middle = sqrt(max(stood.shortest_days, 1.0) * max(longest, 1.0)) if longest else 0.0
    earliest, _, latest = system.onset.range
    factor = pace(system, stood)
    times = (stood.shortest_days, min(max(middle, stood.shortest_days), longest), longest)
    low, likely, high = (chance_after(days, earliest, latest, factor) for days in times)
    return low, likely, high


def pace(system: System, stood: Stood) -> float:
    """How much slower than usual standing tells on a system here (below 1: faster)."""
    hastened = [HASTENS[name] for name in system.hastened_by if name in stood.conditions]
    spared = [SPARES[name] for name in system.spared_by if name in stood.conditions]
    damp = HASTENS["damp"] ** (2 * stood.damp_share - 1) if "damp" in system.hastened_by else 1.0
    return prod(hastened) * max(spared, default=1.0) * damp


def _claims(system: System, stood: Stood) -> tuple[Claim, ...]:
    causes = [Claim(Says.SOONER, about=name) for name in system.hastened_by if name in stood.conditions]
    if system.by_finds:
        return (Claim(Says.UNSEEN), *causes)
    earliest, _, latest = system.onset.range
    claims = [Claim(Says.STOOD, *stood.days, stood.since), Claim(Says.ONSET, earliest, latest)]
    claims += causes
    claims += [Claim(Says.LATER, about=name) for name in system.spared_by if name in stood.conditions]
    if "damp" in system.hastened_by:
        claims.append(Claim(Says.DAMP, stood.damp_share))
    return tuple(claims)
