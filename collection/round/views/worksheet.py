"""The worksheet on the phone: the round, one car at a time, something found, scanned labels."""

from dataclasses import replace
from datetime import date
from itertools import groupby
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from collection.care.cautions import DEFER
from collection.care.clash_words import describe_clash
from collection.care.forms.base import AtTheCar, CareForm
from collection.care.forms.steps import FoundForm, SeenToForm, at_the_step, with_photographs
from collection.care.queries.care import free_bays, last_values, open_findings, open_tags, zone_of
from collection.care.views.log_forms import Claim, log_form
from collection.life.duties import DutyLine, standing_at
from collection.life.refresh import recompute_stale
from collection.models import Building, CareKind, Clash, Site, Vehicle
from collection.permissions import WORK, AccessRequest, needs
from collection.places.sites import chosen_site
from collection.recommission.queries import dormant_cars
from collection.round.actions.plans import kept_week
from collection.round.actions.shifts import leave_note
from collection.round.forms.sent import NoteForm, PassOnForm
from collection.round.queries import my_day
from collection.round.queries.kit import kit
from collection.round.queries.outings import outing_offered
from collection.round.queries.staff import colleagues, owned_at
from collection.round.queries.walk import Row, rows_at
from collection.round.queries.weeks import Stop, Task, WeekSheet, week_of, week_sheet
from collection.round.queries.worksheet import at_car, clashes_of
from collection.round.views import steps
from collection.web.units import edge


@needs(WORK)
def worksheet(request: AccessRequest) -> HttpResponse:
    """A person's own day in its order, what is overdue, their next day, and all of the week a tap away."""
    site, seen = chosen_site(request), timezone.now()
    if site is None:
        return render(request, "round/week/no_site.html", {"title": "The round"})
    timezone.activate(ZoneInfo(site.time_zone))  # until the view returns: see collection.permissions.needs
    note = NoteForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and note.is_valid():
        leave_note(
            site=site,
            by=request.access.person,
            words=note.cleaned_data["words"],
            at=seen,
            idempotency_key=note.cleaned_data["key"],
        )
        messages.success(request, "Left for the next shift.")
        return redirect(f"{reverse('worksheet')}?site={site.pk}")
    today = timezone.localdate()
    stale = recompute_stale(request.access, today, request.access.vehicles().filter(standing_at(site)))
    week = week_of(today)
    placed = kept_week(site=site, week=week, today=today, now=seen)
    sheet = week_sheet(request.access, site=site, week=week, today=today, placed=placed)
    context = {
        "site": site,
        "sites": request.access.sites(),
        "sheet": sheet,
        "today": today,
        "stale": stale,
        "dormant": dormant_cars(request.access, site),
        "rows": _by_building(rows_at(request.access, site)),
        "note": note,
        "notes": my_day.shift_notes(site, seen),
    }
    context |= _my_day(request, site, sheet, today)
    return render(request, "round/worksheet/round.html", context | about_page(request, seen))


def _my_day(request: AccessRequest, site: Site, sheet: WeekSheet, today: date) -> dict[str, Any]:
    """The day and the next as planned, what is overdue, and the week without what stands in the day."""
    plan = my_day.stored_plan(site, today)
    days = my_day.my_days(plan, request.access.person, today) if plan else []
    day, after = days[0] if days else None, days[1] if len(days) > 1 else None
    late = my_day.overdue(request.access, site, today, days[:1])
    stops = {stop.vehicle.pk: stop for stop in sheet.stops}
    in_day = {visit.vehicle.pk for visit in day.visits} if day else set()
    here = [stop for visit in (day.visits if day else ()) if (stop := my_day.stop_of(visit, stops))]
    rounds = [
        (each, [(stop, _must(stop, today)) for stop in each.stops if stop.vehicle.pk not in in_day])
        for each in sheet.rounds
    ]
    listed = in_day | {stop.vehicle.pk for stop in sheet.stops}
    return {
        "plan": plan,
        "day": day,
        "after": after,
        "late": _by_car(late),
        "progress": my_day.progress(plan, today) if plan else [],
        "rounds": [(each, pairs) for each, pairs in rounds if pairs],
        "kit": kit(here if day and day.visits else sheet.stops, owned_at(site)),
        "listed": listed,
        "also": listed | {line.vehicle.pk for line in late},
    }


def _by_car(lines: list[DutyLine]) -> list[tuple[Vehicle, list[DutyLine]]]:
    cars: dict[int, list[DutyLine]] = {}
    for line in lines:
        cars.setdefault(line.vehicle.pk, []).append(line)
    return [(some[0].vehicle, some) for some in cars.values()]


def _by_building(rows: list[Row]) -> list[tuple[Building, list[Row]]]:
    return [(building, list(some)) for building, some in groupby(rows, key=lambda row: row.building)]


def _must(stop: Stop, today: date) -> list[Task]:
    """What must be done there; what is past its date is never only offered."""
    return [t for t in stop.tasks if not t.optional or (t.line.by and t.line.by < today)]


def about_page(request: AccessRequest, seen: Any) -> dict[str, Any]:
    """What every page of the worksheet says of itself, for the phone's queue and for both who clashed."""
    person = request.access.person
    clashes = [describe_clash(person, clash) for clash in clashes_of(request.access, seen)]
    return {"seen": seen, "told": clashes, "defer": DEFER}


@require_safe
@needs(WORK)
def worksheet_car(request: AccessRequest, pk: int) -> HttpResponse:
    """One car: its tags, its tasks with their forms, what was found, what was done this week."""
    vehicle, seen = request.access.vehicle(pk), timezone.now()
    zone = zone_of(vehicle)
    timezone.activate(zone)  # until the view returns: see collection.permissions.needs
    today = timezone.localdate()
    stale = recompute_stale(request.access, today, request.access.only(vehicle))
    here = at_car(vehicle, today=today, zone=ZoneInfo(str(zone)))
    bays = tuple(free_bays(request.access.bays(), vehicle))
    worker = steps.Worker(edge(request.access.person.units), seen, bays)
    made = steps.steps(here.stop, worker)
    context = {
        "car": vehicle,
        "here": here,
        "today": today,
        "stale": stale,
        "must": [step for step in made if not step.task.optional],
        "may": [step for step in made if step.task.optional],
        "found": steps.found_form(here.stop, worker),
        "findings": steps.findings(),
        "outing": outing_offered(vehicle, today),
        "waiting": steps.waiting(here, worker),
        "pass_on": PassOnForm(people=list(colleagues(vehicle)), today=today, auto_id="%s"),
    }
    return render(request, "round/worksheet/car.html", context | about_page(request, seen))


@require_safe
@needs(WORK)
def worksheet_bay(request: AccessRequest, pk: int) -> HttpResponse:
    """A scanned bay: its car's worksheet, or that it is empty."""
    bay = get_object_or_404(request.access.bays().select_related("building__site"), pk=pk)
    car = request.access.vehicles().filter(bay=bay, left_on__isnull=True).first()
    if car:
        return redirect("worksheet_car", car.pk)
    return render(request, "round/worksheet/empty_bay.html", {"bay": bay})


@needs(WORK)
def found(request: AccessRequest, pk: int) -> HttpResponse:
    """Something found at a car; a danger hangs a tag."""
    vehicle = request.access.vehicle(pk)
    form = _form(request, vehicle, FoundForm)
    if request.method == "POST" and form.is_valid() and _logged(request, form):
        tagged = any(tag.details["tag"] == "danger" for tag in open_tags([vehicle]))
        messages.success(request, f"Written down for {vehicle}: {form.cleaned_data['found']}.")
        if tagged:
            messages.warning(
                request, f"{vehicle} carries a danger tag: no start and no move. Hang it on the car."
            )
        return redirect("worksheet_car", vehicle.pk)
    context = {"car": vehicle, "form": form, "title": "Something found", "tags": open_tags([vehicle])}
    return render(request, "round/worksheet/words.html", context)


@needs(WORK)
def seen_to(request: AccessRequest, pk: int, entry: UUID) -> HttpResponse:
    """Something found before has been seen to."""
    vehicle = request.access.vehicle(pk)
    findings = request.access.entries().filter(vehicle=vehicle, kind=CareKind.NOTE, details__has_key="found")
    finding = get_object_or_404(findings, pk=entry)
    form = _form(request, vehicle, SeenToForm)
    if request.method == "POST" and form.is_valid() and _logged(request, form, finding=finding):
        messages.success(request, f"Seen to: {finding.details['found']}, {vehicle}.")
        return redirect("worksheet_car", vehicle.pk)
    done = finding not in open_findings([vehicle])
    context = {
        "car": vehicle,
        "form": form,
        "title": f"Seen to: {finding.note}",
        "finding": finding,
        "done": done,
    }
    return render(request, "round/worksheet/words.html", context)


def _form(request: AccessRequest, vehicle: Vehicle, form: type[CareForm]) -> CareForm:
    timezone.activate(zone_of(vehicle))  # until the view returns: see collection.permissions.needs
    units = edge(request.access.person.units)
    car = AtTheCar(vehicle=vehicle, edge=units, now=timezone.now(), last=last_values(vehicle), short=True)
    return with_photographs(at_the_step(form(request.POST or None, request.FILES or None, car=car)))


def _logged(request: AccessRequest, form: CareForm, **claim: Any) -> bool:
    """Whether the log took it; what it refuses is shown in the form."""
    try:
        logged = log_form(form, replace(Claim(by=request.access.person, now=timezone.now()), **claim))
    except ValidationError as error:
        form.take_faults(error)
        return False
    return not isinstance(logged, Clash)
