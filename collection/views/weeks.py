"""The week's work at one site: read on the phone, logged in place, printed for the clipboard."""

from dataclasses import dataclass
from datetime import date
from typing import Any
from zoneinfo import ZoneInfo

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone

from collection.bridge.refresh import make_fresh
from collection.cautions import DEFER, Caution, cautions_for
from collection.forms.care.base import AtTheCar, CareForm
from collection.forms.care.registry import KIND_FORMS
from collection.forms.care.words import NotDoneForm
from collection.models import Site
from collection.permissions import WORK, AccessRequest, needs
from collection.queries.week_kit import kit
from collection.queries.weeks import Stop, Task, WeekSheet, week_of, week_sheet
from collection.units import edge

YEARS_SHOWN = 100  # either way; beyond it nobody looks, and the calendar ends


@dataclass(frozen=True)
class Job:
    """A task with what the page needs to see it done: its form, the form that says why not, cautions."""

    task: Task
    form: CareForm
    refusal: CareForm
    cautions: tuple[Caution, ...]


@needs(WORK)
def week(request: AccessRequest) -> HttpResponse:
    """The tasks of one week at one site."""
    site = _site(request)
    if site is None:
        return render(request, "weeks/no_site.html")
    timezone.activate(ZoneInfo(site.time_zone))  # until the view returns: see collection.permissions.needs
    today = timezone.localdate()
    stale = make_fresh(request.access, today)
    asked = _asked(request, today)
    sheet = week_sheet(request.access, site=site, week=week_of(asked), today=today)
    return render(request, "weeks/week.html", _page(request, site, sheet, today) | {"stale": stale})


def _site(request: AccessRequest) -> Site | None:
    wanted = request.GET.get("site", "")
    if not wanted:
        return request.access.sites().first()
    if not wanted.isdecimal():
        raise Http404
    return get_object_or_404(request.access.sites(), pk=wanted)


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
    rounds = [(each, [(stop, _jobs(request, stop)) for stop in each.stops]) for each in sheet.rounds]
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
        "kit": kit(sheet.stops),
        "cautions": list(cautions),
        "defer": DEFER,
        "here": f"{request.path}?site={site.pk}&from={sheet.week.monday}",
    }


def _jobs(request: AccessRequest, stop: Stop) -> list[Job]:
    return [_job(request, stop, task) for task in stop.tasks]


def _job(request: AccessRequest, stop: Stop, task: Task) -> Job:
    line = task.line
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
        cautions=cautions_for(line.care_kind, line.duty),
    )
