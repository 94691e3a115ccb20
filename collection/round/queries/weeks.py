"""The week's work at one site in walking order: building by building, bay by bay, car by car."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.db.models import Q

from collection.care.queries.care import LastValues, last_values_of, open_tags
from collection.life.duties import PLANNED, DutyLine, duties_due, standing_at
from collection.models import Assignment, Bay, Building, CareKind, Entry, Site, Vehicle
from collection.models.care import effective
from collection.permissions import Access

# Work that may be done on the visit, since its early date has passed, is offered so far ahead.
OFFERED_AHEAD = timedelta(days=28)
Placed = Mapping[tuple[int, str], Assignment]  # where the plan has a task, by car and duty


@dataclass(frozen=True)
class Week:
    """Monday to Sunday."""

    monday: date

    @property
    def sunday(self) -> date:
        """The last day."""
        return self.monday + timedelta(days=6)

    @property
    def before(self) -> date:
        """Monday of the week before."""
        return self.monday - timedelta(days=7)

    @property
    def after(self) -> date:
        """Monday of the week after."""
        return self.monday + timedelta(days=7)

    def moments(self, zone: ZoneInfo) -> tuple[datetime, datetime]:
        """Where the week starts, and where the next one does."""
        midnight = time(tzinfo=zone)
        return datetime.combine(self.monday, midnight), datetime.combine(self.after, midnight)


def week_of(day: date) -> Week:
    """The week in which a day lies."""
    return Week(day - timedelta(days=day.weekday()))


@dataclass(frozen=True)
class Task:
    """One duty to see to on the round."""

    line: DutyLine
    optional: bool  # its early date has passed, its due date lies after the week
    not_done: Entry | None = None  # tried this week, and why it was not done
    placed: Assignment | None = None  # where the plan has it: day, person, reason


@dataclass(frozen=True)
class Stop:
    """One car on the round: its tasks, and what was done to it this week."""

    vehicle: Vehicle
    last: LastValues
    tasks: list[Task] = field(default_factory=list)
    done: list[Entry] = field(default_factory=list)
    tags: list[Entry] = field(default_factory=list)

    @property
    def spare(self) -> list[Task]:
        """What may be done on the same visit, if there is time."""
        return [task for task in self.tasks if task.optional]

    @property
    def is_needed(self) -> bool:
        """Whether the car is worth the walk: something must be done there, or was."""
        return bool(self.done) or any(not task.optional for task in self.tasks)


@dataclass(frozen=True)
class Round:
    """A building or a yard with its stops; without a building, the cars in no bay."""

    building: Building | None
    stops: list[Stop]


@dataclass(frozen=True)
class WeekSheet:
    """The whole week at a site."""

    week: Week
    rounds: list[Round]
    held: list[DutyLine]
    before: int  # tasks due before a week to come: they stand on earlier weeks

    @property
    def stops(self) -> list[Stop]:
        """All the stops in order."""
        return [stop for each in self.rounds for stop in each.stops]

    @property
    def tasks(self) -> list[Task]:
        """All the tasks in order."""
        return [task for stop in self.stops for task in stop.tasks]


def week_sheet(
    access: Access,
    *,
    site: Site,
    week: Week,
    today: date,
    placed: Placed | None = None,
    only: bool = False,
) -> WeekSheet:
    """The sheet of one week; the number of queries does not grow with the cars.

    ``placed`` is the plan's week: then it says what must be done, and what else is due may be done
    on the same visit. Without a plan the due dates say so. ``only`` leaves out cars that are not placed.
    """
    near = PLANNED & Q(due__lte=week.sunday + OFFERED_AHEAD)
    if placed is not None:
        planned = Q(vehicle__in={car for car, _ in placed})
        near = planned if only else near | planned
    lines = duties_due(access, today=today, site=site, wanted=near)
    within = [line for line in lines if _falls_in(line, week, today) or (placed and _key(line) in placed)]
    done = _done(access, site, week)
    if only and placed is not None:
        shown = {car for car, _ in placed}
        done = [entry for entry in done if entry.vehicle_id in shown]
    cars = {line.vehicle.pk: line.vehicle for line in within if not line.hold}
    cars |= {entry.vehicle_id: entry.vehicle for entry in done if entry.vehicle_id not in cars}
    stops = _stops(list(cars.values()), done)
    for line in within:
        if not line.hold:
            stop = stops[line.vehicle.pk]
            stop.tasks.append(_task(line, week, placed, stop.done))
    future = week.monday > today and placed is None
    return WeekSheet(
        week=week,
        rounds=_rounds(stop for stop in stops.values() if stop.is_needed),
        held=[line for line in within if line.hold and not _is_optional(line, week)],
        before=sum(_falls_before(line, week) for line in lines) if future else 0,
    )


def _key(line: DutyLine) -> tuple[int, str]:
    return line.vehicle.pk, line.duty


def _task(line: DutyLine, week: Week, placed: Placed | None, done: Iterable[Entry]) -> Task:
    at = placed.get(_key(line)) if placed is not None else None
    optional = at is None if placed is not None else _is_optional(line, week)
    return Task(line, optional, _not_done(done, line.duty), at)


def _falls_in(line: DutyLine, week: Week, today: date) -> bool:
    """Due by the end of the week; or soon after and early by then, unless the week is over."""
    if line.due is None or (week.monday > today and _falls_before(line, week)):
        return False
    soon = line.due <= week.sunday + OFFERED_AHEAD
    may = soon and line.early is not None and line.early <= week.sunday and week.sunday >= today
    return line.due <= week.sunday or may


def _falls_before(line: DutyLine, week: Week) -> bool:
    return not line.hold and line.due is not None and line.due < week.monday


def _is_optional(line: DutyLine, week: Week) -> bool:
    return line.due is None or line.due > week.sunday


def _done(access: Access, site: Site, week: Week) -> list[Entry]:
    start, end = week.moments(ZoneInfo(site.time_zone))
    entries = access.entries().filter(
        standing_at(site, "vehicle__"), vehicle__left_on__isnull=True, done_at__gte=start, done_at__lt=end
    )
    related = ("by", "vehicle__owner", "vehicle__bay__building__site")
    return list(effective(entries).select_related(*related).prefetch_related("readings").order_by("done_at"))


def _not_done(done: Iterable[Entry], duty: str) -> Entry | None:
    tried = [e for e in done if e.kind == CareKind.NOT_DONE and e.details.get("duty") == duty]
    return tried[-1] if tried else None


def _stops(cars: list[Vehicle], done: Iterable[Entry]) -> dict[int, Stop]:
    last = last_values_of(cars)
    stops = {car.pk: Stop(car, last[car.pk]) for car in cars}
    for entry in done:
        stops[entry.vehicle_id].done.append(entry)
    for tag in open_tags(cars):
        stops[tag.vehicle_id].tags.append(tag)
    return stops


def _rounds(stops: Iterable[Stop]) -> list[Round]:
    by_building: dict[Building | None, list[Stop]] = defaultdict(list)
    for stop in stops:
        by_building[stop.vehicle.bay.building if stop.vehicle.bay else None].append(stop)
    rounds = [Round(building, sorted(here, key=_place)) for building, here in by_building.items()]
    return sorted(rounds, key=_walk)


def _walk(each: Round) -> tuple[bool, int, str]:
    """Buildings in walking order; cars in no bay come last."""
    building = each.building
    return building is None, building.walk_order if building else 0, building.name if building else ""


def _place(stop: Stop) -> tuple[int, str, int, str]:
    """Along the rows: row 2 before row 10, row B before row AA."""
    bay: Bay | None = stop.vehicle.bay
    row, place = (bay.row, bay.place) if bay else ("", 0)
    return len(row), row, place, str(stop.vehicle)
