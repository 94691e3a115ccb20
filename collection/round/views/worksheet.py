"""The worksheet on the phone: the round, one car at a time, something found, scanned labels."""

from dataclasses import replace
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_safe

from collection.care.cautions import DEFER
from collection.care.clash_words import describe_clash
from collection.care.forms.base import AtTheCar, CareForm
from collection.care.forms.steps import FoundForm, SeenToForm, at_the_step
from collection.care.queries.care import free_bays, last_values, open_findings, open_tags, zone_of
from collection.care.views.log_forms import Claim, log_form
from collection.life.duties import standing_at
from collection.life.refresh import recompute_stale
from collection.models import CareKind, Clash, Vehicle
from collection.permissions import WORK, AccessRequest, needs
from collection.places.sites import chosen_site
from collection.recommission.queries import dormant_cars
from collection.round.actions.plans import kept_week
from collection.round.queries.kit import kit
from collection.round.queries.weeks import Round, Stop, Task, week_of, week_sheet
from collection.round.queries.worksheet import at_car, clashes_of
from collection.round.views import steps
from collection.web.units import edge


@require_safe
@needs(WORK)
def worksheet(request: AccessRequest) -> HttpResponse:
    """The cars of this week's round in walking order, each a tap away."""
    site, seen = chosen_site(request), timezone.now()
    if site is None:
        return render(request, "round/week/no_site.html", {"title": "The round"})
    timezone.activate(ZoneInfo(site.time_zone))  # until the view returns: see collection.permissions.needs
    today = timezone.localdate()
    stale = recompute_stale(request.access, today, request.access.vehicles().filter(standing_at(site)))
    week = week_of(today)
    placed = kept_week(site=site, week=week, today=today, now=seen)
    sheet = week_sheet(request.access, site=site, week=week, today=today, placed=placed)
    context = {
        "site": site,
        "sites": request.access.sites(),
        "sheet": sheet,
        "kit": kit(sheet.stops),
        "today": today,
        "stale": stale,
        "rounds": [(each, _must(each)) for each in sheet.rounds],
        "dormant": dormant_cars(request.access, site),
    }
    return render(request, "round/worksheet/round.html", context | about_page(request, seen))


def _must(walked: Round) -> list[tuple[Stop, list[Task]]]:
    """Each stop with what must be done there."""
    return [(stop, [task for task in stop.tasks if not task.optional]) for stop in walked.stops]


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
        "waiting": steps.waiting(here, worker),
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
    return at_the_step(form(request.POST or None, request.FILES or None, car=car))


def _logged(request: AccessRequest, form: CareForm, **claim: Any) -> bool:
    """Whether the log took it; what it refuses is shown in the form."""
    try:
        logged = log_form(form, replace(Claim(by=request.access.person, now=timezone.now()), **claim))
    except ValidationError as error:
        form.take_faults(error)
        return False
    return not isinstance(logged, Clash)
