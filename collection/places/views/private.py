"""Keys, alarms and addresses: seen and written by managers and the staff of that site only."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from collection.permissions import EDIT_CARS, MANAGE, AccessRequest, needs
from collection.places.actions.private import save_private
from collection.places.forms.private import CarNotesForm, SiteNotesForm
from collection.places.queries.private import car_notes, site_notes
from collection.web.form_faults import saved
from collection.web.units import edge


@needs(EDIT_CARS)
def car_private(request: AccessRequest, pk: int) -> HttpResponse:
    """Where the keys of a car are, and what guards it."""
    vehicle = request.access.private_car(pk)
    notes = car_notes(request.access, vehicle)
    form = CarNotesForm(request.POST or None, instance=notes, edge=edge(request.access.person.units))
    if request.method == "POST" and saved([form], lambda: save_private(notes=notes)):
        messages.success(request, f"{vehicle}: keys and alarm saved.")
        return redirect("car", vehicle.pk)
    shown = {"form": form, "of": vehicle, "back": vehicle, "title": "Keys and alarm"}
    return render(request, "places/private/edit.html", shown)


@needs(MANAGE)
def site_private(request: AccessRequest, pk: int) -> HttpResponse:
    """A site's address, way in and alarm."""
    site = get_object_or_404(request.access.private_sites(), pk=pk)
    notes = site_notes(request.access, site)
    form = SiteNotesForm(request.POST or None, instance=notes, edge=edge(request.access.person.units))
    if request.method == "POST" and saved([form], lambda: save_private(notes=notes)):
        messages.success(request, f"{site}: address and alarm saved.")
        return redirect("places")
    shown = {"form": form, "of": site, "title": "Address, way in and alarm"}
    return render(request, "places/private/edit.html", shown)
