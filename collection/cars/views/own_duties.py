"""Papers and own duties of a car: added, looked at, changed, ended."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_safe

from collection.care.actions.record import Edit
from collection.cars.actions.own_duties import end_own_duty, save_own_duty, save_own_duty_alike
from collection.cars.forms.own_duties import NewOwnDutyForm, OwnDutyForm
from collection.cars.queries import done_for
from collection.life.duties import lines_of
from collection.life.refresh import recompute_stale
from collection.models import OwnDuty
from collection.permissions import EDIT_CARS, SEE_CARS, AccessRequest, needs
from collection.web.form_faults import saved


@needs(EDIT_CARS)
def own_duty_new(request: AccessRequest, pk: int) -> HttpResponse:
    """Add one to a car."""
    vehicle, today = request.access.vehicle(pk), timezone.localdate()
    duty = OwnDuty(vehicle=vehicle)
    form = NewOwnDutyForm(request.POST if request.method == "POST" else None, duty=duty)
    cars: list[int] = []

    def save() -> None:
        form.fill()
        edit = Edit(request.access.person, timezone.now())
        if form.cleaned_data["alike"]:
            cars.append(save_own_duty_alike(duty=duty, edit=edit, today=today))
        else:
            save_own_duty(duty=duty, edit=edit, today=today)

    if request.method == "POST" and saved([form], save):
        where = f"{cars[0]} cars" if cars else str(vehicle)
        messages.success(request, f"{duty.title} of {where} added.")
        return redirect("own_duty", vehicle.pk, duty.code)
    return render(request, "cars/own_duties/new.html", {"vehicle": vehicle, "form": form})


@require_safe
@needs(SEE_CARS)
def own_duty(request: AccessRequest, pk: int, duty: str) -> HttpResponse:
    """One of them: when, why, and what was done for it."""
    access, today = request.access, timezone.localdate()
    row = access.own_duty(pk, duty)
    recompute_stale(access, today, access.only(row.vehicle))
    shown = {
        "vehicle": row.vehicle,
        "duty": row,
        "code": duty,
        "today": today,
        "line": next((line for line in lines_of(row.vehicle, today) if line.duty == duty), None),
        "entries": done_for(row),
    }
    return render(request, "cars/own_duties/own_duty.html", shown)


@needs(EDIT_CARS)
def own_duty_edit(request: AccessRequest, pk: int, duty: str) -> HttpResponse:
    """Change one, or ask for it no longer."""
    row, today = request.access.own_duty(pk, duty), timezone.localdate()
    form = OwnDutyForm(request.POST if request.method == "POST" else None, duty=row)
    edit = Edit(request.access.person, timezone.now())
    if request.method == "POST" and "end" in request.POST:
        end_own_duty(duty=row, edit=edit, today=today)
        messages.success(request, f"{row.title} of {row.vehicle}: no longer asked for.")
        return redirect("car", row.vehicle_id)

    def save() -> None:
        form.fill()
        save_own_duty(duty=row, edit=edit, today=today)

    if request.method == "POST" and saved([form], save):
        messages.success(request, f"{row.title} of {row.vehicle} saved.")
        return redirect("own_duty", row.vehicle_id, row.code)
    return render(request, "cars/own_duties/edit.html", {"vehicle": row.vehicle, "duty": row, "form": form})
