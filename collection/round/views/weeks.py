"""The week's work at one site: read on the phone, logged in place, printed for the clipboard."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any
from zoneinfo import ZoneInfo

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone

from collection.care.cautions import DEFER, Caution, cautions_for
from collection.care.forms.base import AtTheCar, CareForm
from collection.care.forms.registry import KIND_FORMS
from collection.care.forms.words import NotDoneForm
from collection.life.duties import standing_at
from collection.life.refresh import recompute_stale
from collection.models import CareKind, Site, SitePlan
from collection.permissions import WORK, AccessRequest, needs
from collection.places.sites import MOST_DIGITS, chosen_site
from collection.round.actions.plans import kept_plan
from collection.round.core.wishes import ready_at
from collection.round.queries import plans
from collection.round.queries.kit import kit
from collection.round.queries.staff import owned_at
from collection.round.queries.weeks import Placed, Round, Stop, Task, Week, WeekSheet, week_of, week_sheet
from collection.web.units import edge

MOST_IN_PLACE = 40  # tasks that carry their forms; a fuller page leads to each
ALL_DAYS = "all"  # in place of one day of the week
MOST_TROUBLES = 20  # listed at first; the rest a tap away
WEEKEND = (5, 6)  # when what is left of a week may be nothing
YEARS_SHOWN = 100  # either way; beyond it nobody looks, and the calendar ends


@dataclass(frozen=True)
class Job:
    """A task with what the page needs to see it done: its form, the form that says why not, cautions."""

    task: Task
    form: CareForm | None  # None on a full page, which leads to the form instead
    refusal: CareForm | None
    cautions: tuple[Caution, ...]


@needs(WORK)
def week(request: AccessRequest) -> HttpResponse:
    """The work of one week at one site: as planned, day by day, or by due date where nothing is planned."""
    site = chosen_site(request)
    if site is None:
        return render(request, "round/week/no_site.html", {"title": "The week"})
    timezone.activate(ZoneInfo(site.time_zone))  # until the view returns: see collection.permissions.needs
    today = timezone.localdate()
    stale = recompute_stale(request.access, today, request.access.vehicles().filter(standing_at(site)))
    asked = week_of(_asked(request, today))
    kept = kept_plan(site=site, today=today, now=timezone.now())
    plan = kept.plan if plans.covers(kept.plan, asked, today) else None
    person = _person(request) if plan else None
    placed = plans.placed(plan, asked, person) if plan else None
    by_day = plans.work_by_day(plan, asked, person) if plan else {}
    at_its_end = "from" not in request.GET and today.weekday() in WEEKEND
    if plan and at_its_end and not any(day >= today for day in by_day):
        asked, placed, by_day = _next(plan, asked, today, person)
    only = None if request.GET.get("day") == ALL_DAYS else _day(request, asked, today, by_day)
    if placed and only:
        placed = {task: at for task, at in placed.items() if at.day == only}
    sheet = week_sheet(
        request.access, site=site, week=asked, today=today, placed=placed, only=only is not None
    )
    shown = _page(request, site, sheet, today) | {"stale": stale, "kept": kept, "chosen": person}
    shown["wishes"] = ready_at(request.access, site, asked, today)
    if plan:
        planned = plans.planned_week(plan, asked, today, person, only)
        shown |= {"by_day": by_day, "only": only, "most": None if "all" in request.GET else MOST_TROUBLES}
        done = [(stop, e) for stop in sheet.stops for e in stop.done if e.kind != CareKind.NOT_DONE]
        moved_since, moved = plans.moved(plan)
        shown |= {"moved_since": moved_since, "moved": moved, "remedies": plans.remedies(planned.troubles)}
        shown |= {"planned": planned, "days": _cards(planned.days, shown["rounds"]), "done": done}
    return render(request, "round/week/week.html", shown)


def _next(
    plan: SitePlan, week: Week, today: date, person: int | None
) -> tuple[Week, Placed, dict[date, plans.DayWork]]:
    """The week after, if it has work: nothing is left of this one."""
    after = week_of(week.after)
    by_day = plans.work_by_day(plan, after, person) if plans.covers(plan, after, today) else {}
    shown = after if by_day else week
    return shown, plans.placed(plan, shown, person), by_day or plans.work_by_day(plan, shown, person)


def _day(
    request: AccessRequest, asked: Week, today: date, by_day: Mapping[date, plans.DayWork]
) -> date | None:
    """The day that is shown: the one asked for, else the next with work; None where no day has any."""
    day = _asked_day(request)
    if day and asked.monday <= day <= asked.sunday:
        return day
    return next((day for day in by_day if day >= today), min(by_day, default=None))


def _asked_day(request: AccessRequest) -> date | None:
    try:
        return date.fromisoformat(request.GET.get("day", ""))
    except ValueError:
        return None


def _person(request: AccessRequest) -> int | None:
    wanted = request.GET.get("person", "")
    return int(wanted) if wanted.isdecimal() and len(wanted) < MOST_DIGITS else None


@dataclass(frozen=True)
class Card:
    """A visit as the page shows it: the car's stop, each step with its job, if it can be logged now."""

    visit: plans.Visit
    stop: Stop | None
    steps: list[tuple[plans.Step, Job | None]]
    is_first: bool  # the first of the car in the week: bears its anchor and what else may be done


def _cards(days: list[plans.DayPlan], rounds: list[tuple[Round, list[tuple[Stop, list[Job]]]]]) -> Any:
    """Each day with its shifts, each shift with its cards."""
    here = [pair for _, stops in rounds for pair in stops]
    stops = {stop.vehicle.pk: stop for stop, _ in here}
    jobs = {(stop.vehicle.pk, job.task.line.duty): job for stop, made in here for job in made}
    firsts: dict[int, plans.Visit] = {}
    for visit in (visit for day in days for shift in day.shifts for visit in shift.visits):
        firsts.setdefault(visit.vehicle.pk, visit)

    def card(visit: plans.Visit) -> Card:
        car = visit.vehicle.pk
        steps = [(s, jobs.get((car, s.row.duty)) if s.row.is_first else None) for s in visit.steps]
        return Card(visit, stops.get(car), steps, firsts[car] is visit)

    return [(day, [(shift, [card(v) for v in shift.visits]) for shift in day.shifts]) for day in days]


def _asked(request: AccessRequest, today: date) -> date:
    """The day asked for; what is none, or lies far from us, is said, and this week is shown."""
    wanted = request.GET.get("from", "")
    try:
        asked = date.fromisoformat(wanted) if wanted else today
    except ValueError:
        asked = None
    if asked and abs(asked.year - today.year) <= YEARS_SHOWN:
        return asked
    messages.error(request, "from is no date near ours: write it as 2026-11-23. This week is shown.")
    return today


def _page(request: AccessRequest, site: Site, sheet: WeekSheet, today: date) -> dict[str, Any]:
    full = sum(not task.optional for task in sheet.tasks) > MOST_IN_PLACE
    rounds = [(each, [(stop, _jobs(request, stop, full)) for stop in each.stops]) for each in sheet.rounds]
    cautions = dict.fromkeys(
        caution for _, stops in rounds for _, jobs in stops for job in jobs for caution in job.cautions
    )
    return {
        "site": site,
        "sites": request.access.sites(),
        "sheet": sheet,
        "week": sheet.week,
        "today": today,
        "rounds": rounds,
        "full": full,
        "kit": kit(sheet.stops, owned_at(site)),
        "cautions": list(cautions),
        "defer": DEFER,
        "here": f"{request.path}?site={site.pk}&from={sheet.week.monday}"
        + (f"&day={day}" if (day := _asked_day(request)) else "")
        + (f"&day={ALL_DAYS}" if request.GET.get("day") == ALL_DAYS else "")
        + (f"&person={person}" if (person := _person(request)) else ""),
    }


def _jobs(request: AccessRequest, stop: Stop, full: bool) -> list[Job]:
    """The tasks that must be done; what may be done on the visit is only led to."""
    return [_job(request, stop, task, full) for task in stop.tasks if not task.optional]


def _job(request: AccessRequest, stop: Stop, task: Task, full: bool) -> Job:
    line = task.line
    cautions = cautions_for(line.care_kind, line.duty)
    if full:
        return Job(task, None, None, cautions)
    car = AtTheCar(
        vehicle=stop.vehicle,
        edge=edge(request.access.person.units),
        now=timezone.now(),
        last=stop.last,
        duty=line.duty,
        short=True,
    )
    place = f"{stop.vehicle.pk}-{line.duty}"
    return Job(
        task=task,
        form=KIND_FORMS[line.care_kind](car=car, auto_id=f"{place}-%s"),
        refusal=NotDoneForm(car=car, auto_id=f"{place}-not-%s"),
        cautions=cautions,
    )
