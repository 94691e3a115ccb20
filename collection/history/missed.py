"""What was asked for and came late or not at all, silences, and what somebody wrote down as not done."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import partial

from django.utils import timezone

from collection.care.queries.care import day_of
from collection.drawing.days import format_day
from collection.due.queries.intervals import answered
from collection.history.core.past import Past, Wait, unseen_days
from collection.history.grades import INFERENCE, STATEMENT
from collection.history.kept import count_days
from collection.history.queries.history import not_done, silences
from collection.history.scope import Scope
from collection.life.duties import DUTY_TITLES, DutyLine
from collection.models import Entry, Vehicle

# What ended a wait beyond its window, where that was not the care itself; a hold gives its reason.
ENDED = {
    "move": "a move ended the need",
    "other care": "other care ended the need",
    "passed": "the need passed without care",
}


@dataclass(frozen=True)
class Missed:
    """A gap with its grade; ``title`` and ``ending`` say the same as ``what``, in short.

    ``unbegun``: a silence before the first entry, of which nothing is known rather than missed.
    """

    since: date
    until: date | None
    what: str
    grade: int
    duty: str = ""  # the one that came late; empty for a silence and for what was written down as not done
    title: str = ""
    ending: str = ""
    unbegun: bool = False

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
    gaps += _silences(vehicle, entries, today)
    gaps += [_late(wait, entries) for wait in past.beyond if not (now and wait.ending == "open")]
    gaps += [
        Missed(line.late, None, f"{line.title} is late", INFERENCE, line.duty, line.title)
        for line in now
        if line.state == "act_now" and line.late and line.late < today
    ]
    shown = [_said(gap, scope) for gap in gaps if scope.covers(gap.until or gap.since)]
    return sorted(shown, key=lambda gap: gap.since)


def _said(gap: Missed, scope: Scope) -> Missed:
    texts = {name: scope.said(getattr(gap, name)) for name in ("what", "title", "ending")}
    return replace(gap, **texts)  # type: ignore[arg-type]  # texts all


def _titles(vehicle: Vehicle) -> dict[str, str]:
    """The titles of duties, those that were added to the car among them."""
    return DUTY_TITLES | {duty.code: duty.title for duty in vehicle.own_duties.all()}


def _silences(vehicle: Vehicle, entries: Sequence[Entry], today: date) -> list[Missed]:
    days = [day_of(entry) for entry in entries]
    unseen = partial(unseen_days, vehicle)
    gaps = silences(days, since=vehicle.stored_since, until=vehicle.left_on or today, unseen=unseen)
    title = "no entry of any kind"
    return [
        Missed(
            gap.since,
            gap.until,
            gap.what,
            INFERENCE,
            title=title,
            unbegun=gap.since < min(days, default=today),
        )
        for gap in gaps
    ]


def _late(wait: Wait, entries: Sequence[Entry]) -> Missed:
    title, days = DUTY_TITLES[wait.duty], count_days(wait.days)
    ending = f"put on hold: {wait.hold}" if wait.ending == "hold" else ENDED.get(wait.ending, "")
    done = _done_before(wait, entries) if wait.ending == "care" else None
    if done:
        ending = f"done {format_day(done)}, written down late"
        what = f"{title} was {days} beyond its window; {ending}"
    elif wait.ending == "care":
        what = f"{title} came {days} after the last day of its window"
    elif wait.ending == "open":
        what = f"{title} was {days} beyond its window at the end of this time"
    else:
        what = (
            f"{title} was {days} beyond its window until {'it was ' if wait.ending == 'hold' else ''}{ending}"
        )
    return Missed(wait.late, wait.until, what, INFERENCE, wait.duty, title, ending)


def _done_before(wait: Wait, entries: Sequence[Entry]) -> date | None:
    """The day of the care that ended a wait on the day on which it was written down; None if the same."""
    written = [
        day_of(entry)
        for entry in entries
        if answered(entry) == wait.duty and timezone.localdate(entry.recorded_at) == wait.until
    ]
    return min(written) if written and wait.until not in written else None
