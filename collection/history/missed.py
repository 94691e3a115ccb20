"""What was asked for and not done, or done late; and for each duty how it was kept over the period."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from collection.care.queries.care import day_of
from collection.due.queries.intervals import answered, waits
from collection.history.core.looking_back import Then, walk_round_days, windows_then
from collection.history.grades import INFERENCE, STATEMENT
from collection.history.queries.history import Gap, not_done, silences
from collection.history.scope import Scope
from collection.life.duties import DUTY_TITLES, INSPECTION, DutyLine
from collection.models import Entry, Vehicle

DAY = timedelta(days=1)


@dataclass(frozen=True)
class Missed:
    """A gap with its grade."""

    since: date
    until: date | None
    what: str
    grade: int


@dataclass(frozen=True)
class Kept:
    """One duty over the period: how often done, how often late, and the days beyond its window."""

    duty: str
    title: str
    done: int
    late: int
    longest_days: int
    total_days: int
    still_days: int  # of these, days late now

    @property
    def words(self) -> str:
        """The lateness in words."""
        if not self.total_days:
            return "in time each time" if self.done else "not asked for yet"
        most = f", at most {self.longest_days} at a time" if self.late + bool(self.still_days) > 1 else ""
        now = f", late now by {self.still_days}" if self.still_days else ""
        return f"{self.total_days} days beyond the window in all{most}{now}"


def late_cares(vehicle: Vehicle, entries: Sequence[Entry], scope: Scope) -> list[Then]:
    """Cares that came after the last day of their window, as it stood on the eve of the care."""
    asked = [(duty, day - DAY) for duty, day in waits(entries, vehicle.stored_since) if scope.covers(day)]
    return [
        then for then in windows_then(vehicle, asked) if then.late and not then.held and then.late <= then.on
    ]


def missed(
    vehicle: Vehicle,
    entries: Sequence[Entry],
    late: Sequence[Then],
    now: Sequence[DutyLine],
    scope: Scope,
    today: date,
) -> list[Missed]:
    """Every gap of the period, oldest first; ``now`` are the duties as they stand, none if left."""
    found = [Missed(gap.since, gap.until, gap.what, STATEMENT) for gap in not_done(entries, DUTY_TITLES)]
    found += [Missed(gap.since, gap.until, gap.what, INFERENCE) for gap in _silences(vehicle, entries, today)]
    found += [Missed(then.late, then.on + DAY, _came_late(then), INFERENCE) for then in late if then.late]
    found += [
        Missed(line.late, None, f"{line.title} is late", INFERENCE)
        for line in now
        if line.state == "late" and line.late
    ]
    told = [
        Missed(gap.since, gap.until, scope.said(gap.what), gap.grade)
        for gap in found
        if scope.covers(gap.until or gap.since)
    ]
    return sorted(told, key=lambda gap: gap.since)


def _silences(vehicle: Vehicle, entries: Sequence[Entry], today: date) -> list[Gap]:
    days = [day_of(entry) for entry in entries]
    until, longest = vehicle.left_on or today, walk_round_days(vehicle)
    return silences(days, since=vehicle.stored_since, until=until, longest_days=longest)


def _came_late(then: Then) -> str:
    days = (then.on + DAY - then.late).days if then.late else 0
    return (
        f"{DUTY_TITLES[then.duty]} came {days} day{'' if days == 1 else 's'} after the last day of its window"
    )


def kept(
    vehicle: Vehicle,
    entries: Sequence[Entry],
    late: Sequence[Then],
    now: Sequence[DutyLine],
    scope: Scope,
    today: date,
) -> list[Kept]:
    """Each duty that was done or asked for in the period; an inspection is late as long as nobody came."""
    done = [answered(entry) for entry in entries if scope.covers(day_of(entry))]
    still = {line.duty: (today - line.late).days for line in now if line.state == "late" and line.late}
    over: dict[str, list[int]] = {duty: [] for duty in DUTY_TITLES}
    for then in late:
        over[then.duty].append((then.on + DAY - then.late).days if then.late else 0)
    allowed = int(walk_round_days(vehicle))
    over[INSPECTION] = [
        (gap.until - gap.since).days - allowed
        for gap in _silences(vehicle, entries, today)
        if gap.until and gap.until != (vehicle.left_on or today) and scope.covers(gap.until)
    ]
    lines = (_kept(duty, done.count(duty), over[duty], still.get(duty, 0)) for duty in DUTY_TITLES)
    held = {line.duty for line in now if line.state == "held"}
    return [line for line in lines if line.done or line.total_days or line.duty not in held]


def _kept(duty: str, done: int, over: Sequence[int], still_days: int) -> Kept:
    every = [*over, still_days] if still_days else over
    return Kept(duty, DUTY_TITLES[duty], done, len(over), max(every, default=0), sum(every), still_days)
