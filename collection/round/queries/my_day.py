"""One person's day as planned: what in which order, what is left of it, the weather, and what is overdue.

Phone, paper, calendar and mail ask here, so that they show the same day.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from itertools import groupby
from zoneinfo import ZoneInfo

from django.db.models import Q

from collection.due.queries.intervals import answered
from collection.life.duties import PLANNED, DutyLine, duties_due, standing_at, titles_at
from collection.models import (
    Assignment,
    CareKind,
    ClimateMonth,
    Entry,
    Person,
    ShiftNote,
    Site,
    SitePlan,
    Vehicle,
)
from collection.models.care import effective
from collection.permissions import Access
from collection.round.queries import staff as query
from collection.round.queries.weeks import Stop
from collection.web.templatetags.longstand import hours

ROLL_OUT = "Roll out and back"
AHEAD = timedelta(days=14)  # how far the next day with work is looked for
NOTES_FOR = timedelta(days=3)  # a note of a shift is shown so long: over a weekend
HEAT_C = 28.0  # policy: from here on a day is called hot


@dataclass(frozen=True)
class DayTask:
    """One task of the day; ``result`` is what became of it: empty, done, or why not."""

    row: Assignment
    title: str
    result: str = ""


@dataclass(frozen=True)
class DayVisit:
    """One stay at a car."""

    vehicle: Vehicle
    tasks: tuple[DayTask, ...]

    @property
    def start(self) -> str:
        """09:40."""
        return f"{self.tasks[0].row.start // 60:02d}:{self.tasks[0].row.start % 60:02d}"

    @property
    def minutes(self) -> int:
        """Planned at the car."""
        return sum(task.row.minutes for task in self.tasks)

    @property
    def is_work(self) -> bool:
        """Whether more is done there than rolling it out of the way."""
        return any(task.row.duty for task in self.tasks)

    @property
    def is_done(self) -> bool:
        """Whether nothing is left there."""
        return all(task.result for task in self.tasks if task.row.duty)

    @property
    def key(self) -> str:
        """The same visit, whenever it is planned: its first task by name."""
        return min(task.row.key for task in self.tasks)


@dataclass(frozen=True)
class PersonDay:
    """A day of one person at a site."""

    day: date
    person: Person
    visits: tuple[DayVisit, ...]
    notes: tuple[str, ...] = ()
    seen_to: int = 0  # cars at which this person has logged work that day

    @property
    def planned(self) -> int:
        """Minutes of work."""
        return sum(visit.minutes for visit in self.visits)

    @property
    def left(self) -> int:
        """Minutes of what is not done yet."""
        return sum(visit.minutes for visit in self.visits if not visit.is_done)

    @property
    def cars(self) -> int:
        """Cars on which something is done."""
        return len({visit.vehicle.pk for visit in self.visits if visit.is_work})

    @property
    def cars_left(self) -> int:
        """The same, of what is not done yet."""
        return len({visit.vehicle.pk for visit in self.visits if visit.is_work and not visit.is_done})

    @property
    def load(self) -> str:
        """Five cars, 2 h 55."""
        return f"{self.cars} car{'' if self.cars == 1 else 's'}, {hours(self.planned)}"


def stop_of(visit: DayVisit, stops: Mapping[int, Stop]) -> Stop | None:
    """The car's stop of the week, cut down to what this visit is for; None where nothing of it is open."""
    stop = stops.get(visit.vehicle.pk)
    duties = {task.row.duty for task in visit.tasks if not task.result}
    tasks = [task for task in stop.tasks if task.line.duty in duties] if stop else []
    return replace(stop, tasks=tasks) if stop and tasks else None


def stored_plan(site: Site, today: date) -> SitePlan | None:
    """The plan as it was last worked out, where it still says something."""
    return SitePlan.objects.filter(site=site, last_day__gte=today).select_related("site__climate").first()


def days_of(plan: SitePlan, first: date, last: date, person: int | None = None) -> list[PersonDay]:
    """The days of a person, or of everybody, from first to last: by day, then by name."""
    rows = plan.assignments.filter(day__range=(first, last))
    rows = rows.filter(person=person) if person else rows
    related = ("vehicle__bay__building__site", "vehicle__owner", "person")
    ordered = list(rows.select_related(*related).order_by("day", "person__name", "person", "order"))
    names, results = titles_at(plan.site.organisation_id), _results(plan)
    weather = _weather(plan.site, first, last)
    days = []
    for (day, _), mine in groupby(ordered, key=lambda row: (row.day, row.person_id)):
        here = list(mine)
        visits = [
            DayVisit(
                car,
                tuple(
                    DayTask(
                        row, names.get(row.duty, ROLL_OUT) if row.duty else ROLL_OUT, _result(row, results)
                    )
                    for row in some
                ),
            )
            for car, some in groupby(here, key=lambda row: row.vehicle)
        ]
        days.append(PersonDay(day, here[0].person, tuple(visits), weather.get(day, ())))
    return days


def my_days(plan: SitePlan, person: Person, today: date) -> list[PersonDay]:
    """Today of a person, empty where nothing is planned, and their next day with work."""
    days = days_of(plan, today, today + AHEAD, person.pk)
    now = next((each for each in days if each.day == today), None)
    first = now or PersonDay(today, person, (), _weather(plan.site, today, today).get(today, ()))
    touched = seen_to(plan.site, today)
    after = next((each for each in days if each.day > today), None)
    return [replace(first, seen_to=touched.get(person.pk, 0)), *([after] if after else [])]


def progress(plan: SitePlan, today: date) -> list[PersonDay]:
    """Everybody's day so far: those with work planned, and those who have logged some."""
    touched, days = seen_to(plan.site, today), days_of(plan, today, today)
    known = {each.person.pk for each in days}
    others = query.workers(plan.site.organisation).filter(pk__in=touched.keys() - known)
    made = [*days, *(PersonDay(today, person, ()) for person in others)]
    return [replace(each, seen_to=touched.get(each.person.pk, 0)) for each in made]


def seen_to(site: Site, day: date) -> dict[int, int]:
    """At how many cars of the site each person logged something that day."""
    zone = ZoneInfo(site.time_zone)
    start, end = (datetime.combine(each, time(tzinfo=zone)) for each in (day, day + timedelta(days=1)))
    log = effective(Entry.objects.filter(standing_at(site, "vehicle__"), done_at__gte=start, done_at__lt=end))
    log = log.filter(vehicle__organisation=site.organisation_id).exclude(kind=CareKind.NOT_DONE)
    pairs = set(log.values_list("by", "vehicle"))
    return {person: sum(1 for by, _ in pairs if by == person) for person in {by for by, _ in pairs}}


def overdue(access: Access, site: Site, today: date, besides: Iterable[PersonDay] = ()) -> list[DutyLine]:
    """What is past its date at the site and in none of these days, by the harm of waiting."""
    past = Q(late__lt=today) | Q(late__isnull=True, due__lt=today)
    planned = {(v.vehicle.pk, t.row.duty) for each in besides for v in each.visits for t in v.tasks}
    lines = duties_due(access, today=today, site=site, wanted=PLANNED & past & Q(hold=""))
    return [line for line in lines if (line.vehicle.pk, line.duty) not in planned]


def shift_notes(site: Site, now: datetime) -> list[ShiftNote]:
    """What was left for the next shift of late, latest first."""
    return list(site.shift_notes.filter(at__gt=now - NOTES_FOR).select_related("by"))


def _results(plan: SitePlan) -> dict[tuple[int, str], str]:
    """What was logged since the plan was worked out: by car and duty, done or why not."""
    log = effective(
        Entry.objects.filter(
            vehicle__organisation=plan.site.organisation_id, recorded_at__gt=plan.computed_at
        )
    )
    results: dict[tuple[int, str], str] = {}
    for entry in log.order_by("recorded_at"):
        if entry.kind == CareKind.NOT_DONE:
            results[entry.vehicle_id, str(entry.details.get("duty", ""))] = str(entry.details["reason"])
        elif duty := answered(entry):
            results[entry.vehicle_id, duty] = "done"
    return results


def _result(row: Assignment, results: dict[tuple[int, str], str]) -> str:
    return results.get((row.vehicle_id, row.duty), "") if row.is_first else ""


def _weather(site: Site, first: date, last: date) -> dict[date, tuple[str, ...]]:
    """What the weather asks for on each day: a storm as told, heat and frost as the month normally has."""
    storms = {storm.day for storm in query.storm_days(site, first)}
    holidays = {holiday.day: holiday.name for holiday in query.holidays(site, first)}
    months = {month.month: month for month in site.climate.months.all()}
    return {
        day: tuple(_notes(day in storms, holidays.get(day, ""), months.get(day.month)))
        for day in query.span(first, (last - first).days + 1)
    }


def _notes(storm: bool, holiday: str, month: ClimateMonth | None) -> Iterator[str]:
    if holiday:
        yield f"The site is closed: {holiday}."
    if storm:
        yield "Storm: no work in the yard."
    if month and month.max_c >= HEAT_C:
        yield f"Heat: afternoons are normally {month.max_c:.0f} °C. Work in the yard early; water and shade."
    if month and month.min_c < 0:
        yield f"Frost: nights are normally {month.min_c:.0f} °C. Mind ice in the yard.".replace("-", "−")
