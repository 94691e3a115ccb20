"""The plan of a site as pages show it: day by day, who, when, why, and what has no place."""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from itertools import groupby
from typing import Any

from django.db.models import Count, QuerySet, Sum

from collection.life.duties import titles_at
from collection.models import Assignment, Person, PinnedChoice, Site, SitePlan, Unplaced, Vehicle
from collection.round.queries import staff as hands_query
from collection.round.queries.weeks import Placed, Week

ROLLED = "Roll out and back"


def site(pk: int) -> Site | None:
    """The site, if it is still there."""
    return Site.objects.filter(pk=pk).first()


def sites_with_hands() -> list[int]:
    """Every site at which somebody's hours are recorded."""
    return list(
        Site.objects.filter(hands__isnull=False).order_by("pk").values_list("pk", flat=True).distinct()
    )


@dataclass(frozen=True)
class Step:
    """One step of somebody's day; ``choice`` where a person chose its day or its hands."""

    row: Assignment
    choice: PinnedChoice | None
    names: Mapping[str, str]

    @property
    def title(self) -> str:
        """What is done, in words."""
        return self.names[self.row.duty] if self.row.duty else ROLLED

    @property
    def from_to(self) -> str:
        """09:40 to 09:55."""
        return f"{_clock(self.row.start)} to {_clock(self.row.start + self.row.minutes)}"


def _clock(minutes: int) -> str:
    return f"{minutes // 60:02d}:{minutes % 60:02d}"


@dataclass(frozen=True)
class Visit:
    """Steps at one car without going elsewhere between them."""

    vehicle: Vehicle
    steps: list[Step]


@dataclass(frozen=True)
class Shift:
    """One person's day: planned and available minutes, and the visits in order."""

    person: Person
    planned: int
    minutes: int
    visits: list[Visit]


@dataclass(frozen=True)
class DayPlan:
    """One day: why nobody works, a storm in the open, and each person's shift."""

    day: date
    closed: str
    storm: bool
    shifts: list[Shift]


@dataclass(frozen=True)
class DayWork:
    """What one day holds."""

    cars: int
    tasks: int
    minutes: int


@dataclass(frozen=True)
class Trouble:
    """One task that cannot be done in time."""

    row: Unplaced
    names: Mapping[str, str]

    @property
    def title(self) -> str:
        """The duty in words."""
        return self.names[self.row.duty]

    @property
    def is_overdue(self) -> bool:
        """Whether it was late before the plan began, and has a place now."""
        return self.row.late_on is not None and self.row.late < self.row.plan.computed_for


@dataclass(frozen=True)
class PlannedWeek:
    """A week of the plan and what stands beside it.

    ``troubles`` have no place, or a place after a limit still to come; ``overdue`` were past their
    limit before the plan began and stand as early as there was room.
    """

    plan: SitePlan
    days: list[DayPlan]
    troubles: list[Trouble]
    overdue: list[Trouble]
    people: list[Person]
    score: dict[str, Any] = field(default_factory=dict)

    @property
    def has_hours(self) -> bool:
        """Whether anybody has any time in the week."""
        return any(shift.minutes for day in self.days for shift in day.shifts)


@dataclass(frozen=True)
class Moved:
    """A task on another day than in the last plan of an earlier day; ``due_was``: if that moved."""

    row: Assignment
    title: str
    was: date
    due_was: date | None


def moved(plan: SitePlan) -> tuple[date | None, list[Moved]]:
    """The day of the plan before, and what has moved since; a day that has passed meanwhile is none."""
    before = plan.score.get("before") or {}
    if not before:
        return None, []
    names, rows = titles_at(plan.site.organisation_id), []
    for row in plan.assignments.select_related("vehicle__bay__building").order_by("day", "key"):
        was, due_was = (date.fromisoformat(text) for text in before["days"].get(row.key, ["0001-01-01"] * 2))
        if was >= plan.computed_for and was != row.day and row.is_first:
            rows.append(Moved(row, names[row.duty], was, None if row.due == due_was else due_was))
    return date.fromisoformat(before["on"]), rows


@dataclass(frozen=True)
class Remedy:
    """One change, and the tasks that a plan made with it has in time."""

    text: str
    troubles: list[Trouble]


def remedies(troubles: list[Trouble]) -> list[Remedy]:
    """The changes that would help, those that help most tasks first."""
    by_text: dict[str, list[Trouble]] = {}
    for trouble in troubles:
        for text in trouble.row.would_fit:
            by_text.setdefault(text, []).append(trouble)
    return [Remedy(text, each) for text, each in sorted(by_text.items(), key=lambda item: -len(item[1]))]


def covers(plan: SitePlan | None, week: Week, today: date) -> bool:
    """Whether the plan has anything to say about the week."""
    return plan is not None and week.sunday >= today and week.monday <= plan.last_day


def placed(plan: SitePlan, week: Week, person: int | None = None) -> Placed:
    """Where this week's tasks stand, by car and duty; only the next of each, not those that follow."""
    rows = _rows(plan, week).select_related("person")
    rows = rows.filter(person=person) if person else rows
    return {(row.vehicle_id, row.duty): row for row in rows if row.is_first}


def _rows(plan: SitePlan, week: Week) -> QuerySet[Assignment]:
    return plan.assignments.filter(day__range=(week.monday, week.sunday))


def work_by_day(plan: SitePlan, week: Week, person: int | None = None) -> dict[date, DayWork]:
    """How much stands on each day of the week that has any."""
    rows = _rows(plan, week).filter(**({"person": person} if person else {})).order_by("day").values("day")
    counted = rows.annotate(cars=Count("vehicle", distinct=True), tasks=Count("pk"), worked=Sum("minutes"))
    return {row["day"]: DayWork(row["cars"], row["tasks"], row["worked"]) for row in counted}


def planned_week(
    plan: SitePlan, week: Week, today: date, person: int | None = None, only: date | None = None
) -> PlannedWeek:
    """The week day by day, or one day of it; the number of queries does not grow with cars or people."""
    site, first = plan.site, max(week.monday, today)
    hands = list(hands_query.hands_of(site))
    others = list(hands_query.other_hours(site, week.monday))
    related = ("vehicle__bay__building", "person")
    rows = list(_rows(plan, week).filter(**({"day": only} if only else {})).select_related(*related))
    choices = {
        (c.vehicle_id, c.duty): c for c in hands_query.live_choices({r.vehicle_id for r in rows}, today)
    }
    names = titles_at(site.organisation_id)
    opening, off = hands_query.opening_of(site), {h.day: h.name for h in hands_query.holidays(site, first)}
    storms = {storm.day for storm in hands_query.storm_days(site, first)}
    days = []
    for day in [only] if only else hands_query.span(first, (week.sunday - first).days + 1):
        minutes = hands_query.minutes_on(hands, others, day)
        today_rows = [row for row in rows if row.day == day]
        shifts = [
            _shift(
                hand.person,
                [r for r in today_rows if r.person_id == hand.person_id],
                minutes,
                choices,
                names,
            )
            for hand in hands
            if person in (None, hand.person_id)
            and (minutes[hand.person_id] or any(r.person_id == hand.person_id for r in today_rows))
        ]
        closed = off.get(day, "" if day.weekday() in opening else f"closed on {day:%A}s")
        days.append(DayPlan(day, closed, day in storms, shifts if not closed else []))
    # of a duty the one that is forecast now; whether one that comes round again fits is told when it is that
    unplaced = plan.unplaced.select_related("vehicle__bay__building").exclude(key__contains="#")
    troubles = [Trouble(row, names) for row in unplaced]
    overdue = [it for it in troubles if it.is_overdue]
    troubles = [it for it in troubles if not it.is_overdue]
    return PlannedWeek(plan, days, troubles, overdue, [hand.person for hand in hands], plan.score)


def _shift(
    person: Person,
    rows: list[Assignment],
    minutes: dict[int, int],
    choices: dict[tuple[int, str], PinnedChoice],
    names: Mapping[str, str],
) -> Shift:
    visits = []
    for vehicle, steps in groupby(sorted(rows, key=lambda r: r.order), key=lambda r: r.vehicle):
        made = [
            Step(row, choices.get((row.vehicle_id, row.duty)) if row.is_first else None, names)
            for row in steps
        ]
        visits.append(Visit(vehicle, made))
    return Shift(person, sum(row.minutes for row in rows), minutes[person.pk], visits)


def step_of(vehicle: Vehicle, duty: str) -> Assignment | None:
    """Where the plan has the next task of a duty."""
    rows = Assignment.objects.filter(vehicle=vehicle, duty=duty, key=f"{vehicle.pk}/{duty}")
    return rows.select_related("person").first()


def trouble_of(vehicle: Vehicle, duty: str) -> Unplaced | None:
    """Why the next task of a duty has no place in time."""
    return Unplaced.objects.filter(vehicle=vehicle, duty=duty, key=f"{vehicle.pk}/{duty}").first()


@dataclass(frozen=True)
class WeekLoad:
    """One week's planned minutes against the hours recorded, and what is late in it."""

    week: Week
    planned: int
    minutes: int
    tasks: int
    late: int

    @property
    def share(self) -> str:
        """How full, in percent."""
        return f"{100 * self.planned / self.minutes:.0f} %" if self.minutes else "no hours"


def loads(plan: SitePlan) -> list[WeekLoad]:
    """Each week of the plan, the first from its first day on."""
    site, first = plan.site, plan.computed_for
    hands = list(hands_query.hands_of(site))
    others = list(hands_query.other_hours(site, first))
    opening, off = hands_query.opening_of(site), {h.day for h in hands_query.holidays(site, first)}
    work: Counter[date] = Counter()
    tasks: Counter[date] = Counter()
    late: Counter[date] = Counter()
    for row in plan.assignments.all():
        monday = row.day - timedelta(days=row.day.weekday())
        work[monday] += row.minutes
        tasks[monday] += bool(row.duty)
        late[monday] += row.late_days > 0
    free: Counter[date] = Counter()
    for day in hands_query.span(first, (plan.last_day - first).days + 1):
        open_ = day.weekday() in opening and day not in off
        free[day - timedelta(days=day.weekday())] += (
            sum(hands_query.minutes_on(hands, others, day).values()) if open_ else 0
        )
    return [WeekLoad(Week(m), work[m], free[m], tasks[m], late[m]) for m in sorted(free)]
