"""The care log at the car: choose what was done, log it, correct what was wrong."""

from dataclasses import replace
from functools import partial
from typing import Any, cast
from uuid import UUID

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.functional import SimpleLazyObject

from collection.care.actions.care import Logged
from collection.care.cautions import DEFER, cautions_for
from collection.care.clash_words import describe_clash
from collection.care.core.meter import Meter, meter_of
from collection.care.forms.base import AtTheCar, CareForm
from collection.care.forms.registry import CORRECT_FORMS, KIND_FORMS, TOPICS
from collection.care.forms.words import WithdrawForm
from collection.care.queries.care import LastValues, free_bays, last_values, open_tags, zone_of
from collection.care.views.log_forms import Claim, log_form, seen_of
from collection.models import CareKind, Clash, Vehicle
from collection.permissions import WORK, AccessRequest, needs
from collection.web.units import edge
from collection.web.way_back import way_back
from scheduler.vocabulary.care import KIND


@needs(WORK)
def log(request: AccessRequest, pk: int) -> HttpResponse:
    """Choose what was done to the car."""
    vehicle = request.access.vehicle(pk)
    last = last_values(vehicle).entries
    topics = [
        (topic, [(CareKind(f.kind), last.get(f.kind)) for f in forms if _offered(vehicle, f)])
        for topic, forms in TOPICS
    ]
    context = {"car": vehicle, "topics": [t for t in topics if t[1]], "tags": open_tags([vehicle])}
    return render(request, "care/log.html", context)


def _offered(vehicle: Vehicle, form: type[CareForm]) -> bool:
    if form.kind == CareKind.OWN_DUTY and not vehicle.own_duties.filter(ended_on=None).exists():
        return False
    return vehicle.left_on is None or KIND[form.kind].after_leaving


@needs(WORK)
def log_kind(request: AccessRequest, pk: int, kind: str) -> HttpResponse:
    """Log one thing done to the car."""
    if kind not in KIND_FORMS:
        raise Http404
    car = _at_the_car(request, pk, kind)
    form = KIND_FORMS[kind](request.POST or None, request.FILES or None, car=car)
    if request.method == "POST" and form.is_valid():
        logged = _try_to_log(request, form)
        if logged:
            return _onward(request, form, logged)
    form.ask_for_files_again()
    return render(request, "care/log_kind.html", _page(request, form))


@needs(WORK)
def correct(request: AccessRequest, pk: int, entry: UUID) -> HttpResponse:
    """Correct an entry by a new one, or say that it never happened; the old one stays readable."""
    entries = request.access.entries().filter(vehicle=pk).exclude(kind=CareKind.WITHDRAWN)
    old = get_object_or_404(entries.select_related("by", "corrected_by__by"), pk=entry)
    car = replace(_at_the_car(request, pk, old.kind), entry=old)
    withdrawing = "withdraw" in request.POST
    data, files = request.POST or None, request.FILES or None
    if withdrawing:
        forms = (CORRECT_FORMS[old.kind](car=car), WithdrawForm(data, car=car, auto_id="withdraw_%s"))
    else:
        forms = (CORRECT_FORMS[old.kind](data, files, car=car), WithdrawForm(car=car, auto_id="withdraw_%s"))
    form = forms[withdrawing]
    if request.method == "POST" and form.is_valid():
        logged = _try_to_log(request, form)
        if logged:
            return _onward(request, form, logged)
    form.ask_for_files_again()
    context = _page(request, forms[0]) | {"old": old, "withdraw": forms[1]}
    return render(request, "care/correct.html", context)


def _at_the_car(request: AccessRequest, pk: int, kind: str) -> AtTheCar:
    vehicle = request.access.vehicle(pk)
    timezone.activate(zone_of(vehicle))  # until the view returns: see collection.permissions.needs
    return AtTheCar(
        vehicle=vehicle,
        edge=edge(request.access.person.units),
        now=timezone.now(),
        last=cast(LastValues, SimpleLazyObject(partial(last_values, vehicle))),
        bays=list(free_bays(request.access.bays(), vehicle)) if kind == CareKind.MOVED else (),
        tags=list(open_tags([vehicle])) if kind in (CareKind.TAG_CLOSED, CareKind.TAG_OPENED) else (),
        duty=request.GET.get("duty", ""),
        meter=cast(Meter, SimpleLazyObject(partial(meter_of, vehicle, timezone.localdate()))),
    )


def _try_to_log(request: AccessRequest, form: CareForm) -> Logged | Clash | None:
    """Log what the form says; what the log refuses is shown in the form."""
    claim = Claim(by=request.access.person, now=timezone.now(), seen=seen_of(request))
    try:
        return log_form(form, claim)
    except ValidationError as error:
        form.take_faults(error)
        return None


def _onward(request: AccessRequest, form: CareForm, logged: Logged | Clash) -> HttpResponse:
    vehicle = form.car.vehicle
    if isinstance(logged, Clash):
        messages.warning(request, describe_clash(request.access.person, logged))
    else:
        _confirm(request, vehicle, logged)
        for label, band in form.answers():
            (messages.info if band.grade == "good" else messages.warning)(request, f"{label}: {band.text}")
    onward = way_back(request)
    return redirect(onward) if onward else redirect("car", vehicle.pk)


def _confirm(request: AccessRequest, vehicle: Vehicle, logged: Logged) -> None:
    entry = logged.entry
    again = "" if logged.created else " It had been stored before; it stands once."
    what = f"{entry.get_kind_display()} logged" if entry.corrects is None else "Correction logged"
    messages.success(request, f"{what} for {vehicle}.{again}")


def _page(request: AccessRequest, form: CareForm) -> dict[str, Any]:
    return {
        "car": form.car.vehicle,
        "form": form,
        "cautions": cautions_for(form.kind, form.car.duty),
        "defer": DEFER,
        "next": way_back(request),
        "tags": open_tags([form.car.vehicle]),
        "last": form.car.last.entries.get(form.kind),
        "title": CareKind(form.kind).label,
    }
