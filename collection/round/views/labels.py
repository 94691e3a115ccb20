"""Labels for cars and bays: scanning one opens the worksheet there."""

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_safe

from collection.models import Bay, Vehicle
from collection.permissions import WORK, AccessRequest, needs
from collection.round.forms.labels import BAYS, LabelsForm
from collection.round.label_paper import BY_KEY, Label, label_sheets
from collection.round.queries.labels import bays_to_label, cars_to_label

ONLY_HERE = ("localhost", "127.0.0.1", "[::1]")


@require_safe
@needs(WORK)
def labels(request: AccessRequest) -> HttpResponse:
    """Choose the labels; with choices made, the sheets as a PDF."""
    asked = "sheet" in request.GET
    form = LabelsForm(
        request.GET if asked else None,
        access=request.access,
        initial={"what": "cars", "car": request.GET.get("car")},
    )
    if asked and form.is_valid():
        made = _labels(request, form)
        if made:
            sheet = BY_KEY[form.cleaned_data["sheet"]]
            document = label_sheets(made, sheet, skip=form.cleaned_data["first"] - 1)
            return HttpResponse(document, content_type="application/pdf", headers=NAME)
        form.add_error(None, "There is nothing to label there: choose another site.")
    host = request.get_host()
    only_here = host.rpartition(":")[0] in ONLY_HERE or host in ONLY_HERE
    return render(
        request, "round/worksheet/labels.html", {"form": form, "host": host, "only_here": only_here}
    )


NAME = {"Content-Disposition": 'inline; filename="labels.pdf"'}


def _labels(request: AccessRequest, form: LabelsForm) -> list[Label]:
    asked, access = form.cleaned_data, request.access
    if asked["what"] == BAYS:
        return [_bay(request, bay) for bay in bays_to_label(access, asked["site"])]
    cars = [asked["car"]] if asked["car"] else cars_to_label(access, asked["site"])
    return [_car(request, car) for car in cars]


def _car(request: AccessRequest, car: Vehicle) -> Label:
    address = request.build_absolute_uri(reverse("worksheet_car", args=[car.pk]))
    return Label(str(car), tuple(filter(None, [car.registration, str(car.owner)])), address)


def _bay(request: AccessRequest, bay: Bay) -> Label:
    address = request.build_absolute_uri(reverse("worksheet_bay", args=[bay.pk]))
    return Label(bay.label, (bay.building.name, bay.building.site.name), address)
