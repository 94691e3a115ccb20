"""What was asked for and came late or not at all, silences, and what somebody wrote down as not done."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import partial

from collection.care.queries.care import day_of
from collection.history.core.past import Past, Wait, unseen_days
from collection.history.grades import INFERENCE, STATEMENT
from collection.history.kept import count_days
from collection.history.queries.history import Gap, not_done, silences
from collection.history.scope import Scope
from collection.life.duties import DUTY_TITLES, DutyLine
from collection.models import Entry, Vehicle

# How a wait beyond its window ended, after the days; a hold gives its reason.
ENDED = {
    "move": "until a move ended the need",
    "other care": "until other care ended the need",
    "passed": "until the need passed without care",
    "open": "at the end of this time",
}


@dataclass(frozen=True)
class Missed:
    """A gap with its grade."""

    since: date
    until: date | None
    what: str
    grade: int
    duty: str = ""  # the one that came late; empty for a silence and for what was written down as not done

    def days(self, last: date) -> int:
        """How long it was, or is by the last day."""
        return ((self.until or last) - self.since).days


def missed(
    vehicle: Vehicle,
    entries: Sequence[Entry],
    past: Past,
    now: Sequence[DutyLine],
    scope: Scope,
    today: date,
) -> list[Missed]:
    """Every gap of the period, oldest first; ``now`` are the duties as they stand, none if left."""
    gaps = [Missed(gap.since, gap.until, gap.what, STATEMENT) for gap in not_done(entries, _titles(vehicle))]
    gaps += [Missed(gap.since, gap.until, gap.what, INFERENCE) for gap in _silences(vehicle, entries, today)]
    gaps += [
        Missed(wait.late, wait.until, _came_late(wait), INFERENCE, wait.duty)
        for wait in past.beyond
        if not (now and wait.ending == "open")
    ]
    gaps += [
        Missed(line.late, None, f"{line.title} is late", INFERENCE, line.duty)
        for line in now
        if line.state == "act_now" and line.late and line.late < today
    ]
    shown = [replace(gap, what=scope.said(gap.what)) for gap in gaps if scope.covers(gap.until or gap.since)]
    return sorted(shown, key=lambda gap: gap.since)


def _titles(vehicle: Vehicle) -> dict[str, str]:
    """The titles of duties, those that were added to the car among them."""
    return DUTY_TITLES | {duty.code: duty.title for duty in vehicle.own_duties.all()}


def _silences(vehicle: Vehicle, entries: Sequence[Entry], today: date) -> list[Gap]:
    days = [day_of(entry) for entry in entries]
    unseen = partial(unseen_days, vehicle)
    return silences(days, since=vehicle.stored_since, until=vehicle.left_on or today, unseen=unseen)


def _came_late(wait: Wait) -> str:
    title, days = DUTY_TITLES[wait.duty], count_days(wait.days)
    if wait.ending == "care":
        return f"{title} came {days} after the last day of its window"
    ended = f"until it was put on hold: {wait.hold}" if wait.ending == "hold" else ENDED[wait.ending]
    return f"{title} was {days} beyond its window {ended}"
