"""Removing a car that was written down by mistake."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import redirect, render

from collection.cars.actions.removal import remove_vehicle, why_not_removed
from collection.permissions import EDIT_CARS, AccessRequest, needs


@needs(EDIT_CARS)
def car_remove(request: AccessRequest, pk: int) -> HttpResponse:
    """Ask once, then remove; or say what keeps it here."""
    vehicle = request.access.vehicle(pk)
    name, fault = str(vehicle), why_not_removed(vehicle)
    if request.method == "POST":
        try:
            remove_vehicle(vehicle=vehicle)
        except ValidationError as error:
            fault = " ".join(error.messages)
        else:
            messages.success(request, f"{name} is removed.")
            return redirect("cars")
    return render(request, "cars/remove.html", {"vehicle": vehicle, "fault": fault})
