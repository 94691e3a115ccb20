"""Photographs of one car, and the one by which pages show it."""

from datetime import timedelta
from typing import Any

from django import forms
from django.contrib import messages
from django.core.paginator import Paginator
from django.db.models import QuerySet
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from collection.car_page.actions import show_by
from collection.care.actions.record import Edit
from collection.models import Attachment, Vehicle
from collection.permissions import EDIT_CARS, SEE_CARS, Access, AccessRequest, needs
from collection.web.form_faults import saved

PHOTOGRAPHS_A_PAGE = 24
A_DAY = timedelta(days=1)
NOT_OURS = "Choose a photograph of this car's log."


class FaceForm(forms.Form):
    """The photograph by which a car is shown; none for its silhouette."""

    photograph: "forms.ModelChoiceField[Attachment]" = forms.ModelChoiceField(None, required=False)

    def __init__(self, *args: Any, pictures: "QuerySet[Attachment]", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["photograph"].queryset = pictures  # type: ignore[attr-defined]  # a ModelChoiceField


def pictures_of(access: Access, vehicle: Vehicle) -> QuerySet[Attachment]:
    """Photographs of entries that still stand, latest first."""
    standing = access.attachments().filter(entry__vehicle=vehicle, entry__corrected_by__isnull=True)
    pictures = standing.filter(type__startswith="image/")
    return pictures.select_related("entry__by").order_by("-entry__done_at", "number")


def then_and_now(access: Access, vehicle: Vehicle) -> list[Attachment]:
    """The oldest and the latest photograph, where a day or more lies between them."""
    pictures = pictures_of(access, vehicle)
    now = pictures.first()
    then = pictures.last() if now else None
    if now is None or then is None or now.entry.done_at - then.entry.done_at < A_DAY:
        return []
    return [then, now]


@require_safe
@needs(SEE_CARS)
def car_photographs(request: AccessRequest, pk: int) -> HttpResponse:
    """Every photograph of its log, latest first."""
    vehicle = request.access.vehicle(pk)
    pages = Paginator(pictures_of(request.access, vehicle), PHOTOGRAPHS_A_PAGE)
    context = {"vehicle": vehicle, "page": pages.get_page(request.GET.get("page"))}
    return render(request, "car_page/photographs.html", context)


@require_POST
@needs(EDIT_CARS)
def car_shown_by(request: AccessRequest, pk: int) -> HttpResponse:
    """The photograph by which pages show the car, or none."""
    vehicle = request.access.vehicle(pk)
    form = FaceForm(request.POST, pictures=pictures_of(request.access, vehicle))
    edit = Edit(request.access.person, timezone.now())

    def show() -> None:
        show_by(vehicle=vehicle, photograph=form.cleaned_data["photograph"], edit=edit)

    if saved([form], show):
        messages.success(request, f"{vehicle}: pages show it as you chose.")
    else:
        messages.error(request, "; ".join(map(str, form.non_field_errors())) or NOT_OURS)
    return redirect("car_photographs", vehicle.pk)
