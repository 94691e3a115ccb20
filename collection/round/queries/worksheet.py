"""What is to be done at one car now, and whether somebody else was quicker."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from django.db.models import Q

from collection.care.queries.care import last_values, open_findings, open_tags
from collection.life.duties import DutyLine, lines_of
from collection.models import Assignment, CareKind, Clash, Entry, SitePlan, Vehicle
from collection.models.care import effective
from collection.permissions import Access
from collection.round.queries.staff import site_of
from collection.round.queries.weeks import OFFERED_AHEAD, Stop, Task, Week, week_of

CLASHES_TOLD_FOR = timedelta(days=7)


@dataclass(frozen=True)
class AtCar:
    """One car as its worksheet shows it: the stop, what is held back, what waits to be seen to."""

    stop: Stop
    held: list[DutyLine]
    findings: list[Entry]


def at_car(vehicle: Vehicle, *, today: date, zone: ZoneInfo) -> AtCar:
    """What is to be done at the car this week, what may be done on the visit, what was done.

    The plan says what is to be done; where nothing is planned, the due dates do.
    """
    week = week_of(today)
    placed = placed_at(vehicle, week)
    lines = [
        line
        for line in (lines_of(vehicle, today) if not vehicle.left_on else [])
        if _is_near(line, week) or (placed and line.duty in placed)
    ]
    done = list(_done(vehicle, week, zone))
    tried = {entry.details["duty"]: entry for entry in done if entry.kind == CareKind.NOT_DONE}
    tasks = [
        Task(
            line,
            optional=_may_wait(line, week, today, placed),
            not_done=tried.get(line.duty),
            placed=placed.get(line.duty) if placed else None,
        )
        for line in lines
        if not line.hold
    ]
    stop = Stop(vehicle, last_values(vehicle), tasks, done, list(open_tags([vehicle])))
    held = [line for line in lines if line.hold and line.due and line.due <= week.sunday]
    return AtCar(stop, held, list(open_findings([vehicle])))


def placed_at(vehicle: Vehicle, week: Week) -> dict[str, Assignment] | None:
    """Where the stored plan has this week's tasks of a car, by duty; None where its site has no plan."""
    site = site_of(vehicle)
    plan = SitePlan.objects.filter(site=site).first()
    if plan is None or not week.monday <= plan.last_day:
        return None
    rows = plan.assignments.filter(vehicle=vehicle, day__range=(week.monday, week.sunday))
    return {row.duty: row for row in rows.select_related("person") if row.is_first}


def _may_wait(line: DutyLine, week: Week, today: date, placed: dict[str, Assignment] | None) -> bool:
    """Whether it is only offered: due after the week, or planned for another one and not past its date."""
    if placed is None:
        return line.due is None or line.due > week.sunday
    return line.duty not in placed and not (line.by and line.by < today)


def _is_near(line: DutyLine, week: Week) -> bool:
    """Due by the end of the week, or soon after it and early by then."""
    if line.due is None:
        return False
    may = line.early is not None and line.early <= week.sunday and line.due <= week.sunday + OFFERED_AHEAD
    return line.due <= week.sunday or may


def _done(vehicle: Vehicle, week: Week, zone: ZoneInfo) -> "list[Entry]":
    start, end = week.moments(zone)
    entries = effective(Entry.objects.filter(vehicle=vehicle, done_at__gte=start, done_at__lt=end))
    return list(entries.select_related("by").prefetch_related("readings").order_by("done_at"))


def clashes_of(access: Access, now: datetime) -> list[Clash]:
    """Work of the last days that this person and another both finished; for both to be told."""
    mine = Q(by=access.person) | Q(entry__by=access.person)
    recent = Clash.objects.filter(mine, entry__in=access.entries(), at__gt=now - CLASHES_TOLD_FOR)
    return list(recent.select_related("entry__by", "entry__vehicle", "by"))
