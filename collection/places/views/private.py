"""Keys, alarms and addresses: shown on asking, written down, released to another site; all of it kept.

A GET never holds them: only who asks by the button sees them, and their managers see that they did.
"""

from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied, ValidationError
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_safe

from collection.models import Vehicle
from collection.permissions import EDIT_CARS, MANAGE, AccessRequest, needs
from collection.places.actions import private as act
from collection.places.forms.private import CarNotesForm, SiteNotesForm
from collection.places.queries.private import reach_of, showings_listed
from collection.web.form_faults import saved
from collection.web.sorting import Column, Sorting

EVENTS_A_PAGE = 50
EVENT_COLUMNS = (
    Column("when", "When", ("at",)),
    Column("who", "Who", ("person__name",)),
    Column("what", "What", ("what",)),
    Column("of", "Of", ("vehicle__marque", "vehicle__model", "site__name")),
)


@needs(EDIT_CARS)
def car_private(request: AccessRequest, pk: int) -> HttpResponse:
    """Where the keys of a car are, and what guards it."""
    access, vehicle, now = request.access, request.access.private_car(pk), timezone.now()
    reach = reach_of(access, vehicle)
    if reach is None:  # private_car has refused it by then
        raise PermissionDenied
    shown: dict[str, Any] = {"vehicle": vehicle, "reach": reach}
    what = request.POST.get("what")
    if what == "release":
        return _release(request, vehicle)
    if what == "show":
        car, site = act.open_car(access=access, reach=reach, now=now)
        shown |= {"car": car, "site": site, "form": CarNotesForm(initial=car.values) if car else None}
    if what == "save":
        if not reach.may_car:
            raise PermissionDenied("Its keys and alarm belong to another site: a manager releases them.")
        shown["form"] = form = CarNotesForm(request.POST)
        values = form.cleaned_data if form.is_valid() else {}
        if saved([form], lambda: act.write_car(access=access, vehicle=vehicle, values=values, now=now)):
            messages.success(request, f"{vehicle}: keys and alarm saved.")
            return redirect("car", vehicle.pk)
    if access.may_manage:
        listed = Sorting(request.GET, EVENT_COLUMNS)
        showings = showings_listed(access).filter(vehicle=vehicle)
        shown |= {"events": listed.rows(showings)[:EVENTS_A_PAGE], "heads": listed.heads}
    return _secret(render(request, "places/private/car.html", shown))


def _release(request: AccessRequest, vehicle: Vehicle) -> HttpResponse:
    if not request.access.may_manage:
        raise PermissionDenied("A manager releases the keys of a car to another site.")
    try:
        site = act.release_car(access=request.access, vehicle=vehicle, now=timezone.now())
        messages.success(request, f"Keys and alarm are released to {site}.")
    except ValidationError as fault:
        messages.error(request, " ".join(fault.messages))
    return redirect("car_private", vehicle.pk)


@needs(EDIT_CARS)
def site_private(request: AccessRequest, pk: int) -> HttpResponse:
    """A site's address, way in and alarm; managers write them down."""
    access, now = request.access, timezone.now()
    site = get_object_or_404(access.sites(), pk=pk)
    if not access.private_sites().filter(pk=pk).exists():
        raise PermissionDenied("Only managers see this, and staff to whom a manager grants it.")
    shown: dict[str, Any] = {"site": site}
    if request.POST.get("what") == "show":
        shown["notes"] = notes = act.open_site(access=access, site=site, now=now)
        shown["form"] = SiteNotesForm(initial=notes.values) if access.may_manage else None
    if request.POST.get("what") == "save":
        if not access.may_manage:
            raise PermissionDenied("A manager writes this down.")
        shown["form"] = form = SiteNotesForm(request.POST)
        values = form.cleaned_data if form.is_valid() else {}
        if saved([form], lambda: act.write_site(access=access, site=site, values=values, now=now)):
            messages.success(request, f"{site}: address and alarm saved.")
            return redirect("places")
    return _secret(render(request, "places/private/site.html", shown))


def _secret(answer: HttpResponse) -> HttpResponse:
    answer.headers["Cache-Control"] = "private, no-store"
    return answer


@require_safe
@needs(MANAGE)
def private_showings(request: AccessRequest) -> HttpResponse:
    """Who saw, wrote or released keys and alarms."""
    listed = Sorting(request.GET, EVENT_COLUMNS)
    pages = Paginator(listed.rows(showings_listed(request.access)), EVENTS_A_PAGE)
    shown = {"events": pages.get_page(request.GET.get("page")), "heads": listed.heads}
    return render(request, "places/private/showings.html", shown)
