"""How the car was put away, its handbook's values, and how a recommissioning ends."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone

from collection.care import core as choices
from collection.care.actions.record import Edit
from collection.models import Basis, HandbookValue, RecommissionCase, Vehicle
from collection.permissions import EDIT_CARS, AccessRequest, needs
from collection.recommission.actions.settings import end_recommissioning, save_case, save_handbook
from collection.recommission.forms.settings import CaseForm, EndingForm, HandbookForm
from collection.recommission.queries import case_of
from collection.recommission.views.common import at_recommissioning, show
from collection.web.form_faults import saved
from collection.web.units import edge


@needs(EDIT_CARS)
def recommission_case(request: AccessRequest, pk: int) -> HttpResponse:
    """How the car was put away, as far as anybody knows."""
    vehicle = request.access.vehicle(pk)
    case = case_of(vehicle) or RecommissionCase(vehicle=vehicle)
    form = CaseForm(request.POST or None, instance=case, edge=edge(request.access.person.units))
    if request.method == "POST" and saved([form], lambda: _save_case(request, form)):
        messages.success(request, "Saved.")
        return redirect("recommission_outlook", pk)
    return render(request, "recommission/case.html", {"vehicle": vehicle, "form": form})


@needs(EDIT_CARS)
def recommission_handbook(request: AccessRequest, pk: int) -> HttpResponse:
    """This car's own values for the measured steps."""
    vehicle, reader = request.access.vehicle(pk), edge(request.access.person.units)
    own = {value.check_key: value for value in vehicle.handbook_values.all()}
    forms = [
        HandbookForm(request.POST or None, check=check, own=own.get(key), edge=reader)
        for key, check in choices.measured_checks().items()
    ]
    if request.method == "POST" and saved(forms, lambda: _save_handbook(request, vehicle, forms)):
        messages.success(request, "The handbook's values are saved; the gates are judged by them.")
        return redirect("recommission_plan", pk)
    return render(request, "recommission/handbook.html", {"vehicle": vehicle, "forms": forms})


def _save_case(request: AccessRequest, form: CaseForm) -> None:
    save_case(case=form.instance, edit=Edit(request.access.person, timezone.now()))


def _save_handbook(request: AccessRequest, vehicle: Vehicle, forms: list[HandbookForm]) -> None:
    values: list[HandbookValue] = [value for form in forms if (value := form.value(vehicle))]
    edit = Edit(request.access.person, timezone.now(), basis=Basis.DOCUMENT)
    save_handbook(vehicle=vehicle, values=values, edit=edit)


@needs(EDIT_CARS)
def recommission_end(request: AccessRequest, pk: int) -> HttpResponse:
    """End the recommissioning: the regime, the baseline and the duties of the car."""
    at = at_recommissioning(request, pk)
    form = EndingForm(request.POST or None)
    if request.method == "POST" and saved([form], lambda: _end(request, at.vehicle, form)):
        messages.success(
            request, "The recommissioning has ended: its care is set up, and its dates are worked out."
        )
        return redirect("car", pk)
    names = choices.check_words()
    missing = [names[key] for key in at.recommissioning.aftercare.missing] if at.recommissioning else []
    return show(request, "end", at, form=form, missing=missing)


def _end(request: AccessRequest, vehicle: Vehicle, form: EndingForm) -> None:
    end_recommissioning(
        vehicle=vehicle,
        ending=form.ending(),
        by=request.access.person,
        key=form.cleaned_data["key"],
        now=timezone.now(),
    )
