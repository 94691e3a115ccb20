"""The list of cars, and the pages that write one down."""

from collections.abc import Sequence

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import Http404, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone

from collection.care.actions.record import Edit
from collection.care.queries.care import zone_of
from collection.cars.actions.vehicles import save_vehicle
from collection.cars.forms.since import SinceForm
from collection.cars.forms.vehicles import CarsFilter, VehicleForm
from collection.cars.queries import cars_listed
from collection.cars.views.parts import EVERY_PART, PARTS, car_forms, groups, part_after
from collection.models import Vehicle
from collection.permissions import EDIT_CARS, SEE_CARS, AccessRequest, needs
from collection.web.form_faults import saved
from collection.web.measures import RecordForm
from collection.web.sorting import Column, Sorting
from collection.web.way_back import keep_way_back, way_back

CARS_A_PAGE = 100
COLUMNS = (
    Column("car", "Car", ("marque", "model", "year")),
    Column("owner", "Owner", ("owner__name",)),
    Column("where", "Where", ("bay__building__site__name", "bay__building__name", "bay__row", "bay__place")),
    Column("kept", "Kept", ("regime",)),
    Column("since", "In storage since", ("stored_since",)),
    Column("missing", "Still to record"),
)


@needs(SEE_CARS)
def cars(request: AccessRequest) -> HttpResponse:
    """Every car that the person may see, with what is still missing in its record."""
    access = request.access
    filters = CarsFilter(request.GET, sites=access.sites(), owners=access.owners())
    listed = Sorting(request.GET, COLUMNS if access.may_edit else COLUMNS[:-1])
    pages = Paginator(listed.rows(cars_listed(access, **filters.wanted())), CARS_A_PAGE)
    shown = {
        "cars": pages.get_page(request.GET.get("page")),
        "heads": listed.heads,
        "filters": filters,
        "filtered": bool(request.GET),
    }
    return render(request, "cars/cars.html", shown)


@needs(EDIT_CARS)
def car_new(request: AccessRequest) -> HttpResponse:
    """A car comes in: owner, marque, model and regime are enough."""
    today = timezone.localdate()
    vehicle = Vehicle(organisation=request.access.organisation, stored_since=today)
    forms = car_forms(request.access, vehicle, _sent(request))
    edit = Edit(request.access.person, timezone.now())
    if request.method == "POST" and saved(
        forms, lambda: save_vehicle(vehicle=vehicle, edit=edit, today=today)
    ):
        _confirm(request, vehicle, "is on the record", forms)
        return _go_on(request, vehicle, "car")
    shown = {"forms": forms, "groups": groups(forms), "part": "car", "next": PARTS["battery"]}
    return render(request, "cars/new.html", shown | {"owners": request.access.owners().exists()})


@needs(EDIT_CARS)
def car_edit(request: AccessRequest, pk: int, part: str) -> HttpResponse:
    """One part of a car's record."""
    vehicle = request.access.vehicle(pk)
    if part not in EVERY_PART:
        raise Http404
    page, name = EVERY_PART[part], str(vehicle)
    forms = page.forms(request.access, vehicle, _sent(request))
    since = SinceForm(_sent(request), since=timezone.now().astimezone(zone_of(vehicle)).date())

    def save() -> None:
        edit = Edit(request.access.person, timezone.now(), **since.cleaned_data)
        page.save(vehicle, forms, edit, timezone.localdate())

    if request.method == "POST" and saved([*forms, since], save):
        _confirm(request, vehicle, f"{page.title.lower()} saved", forms)
        return _go_on(request, vehicle, part)
    after = part_after(part)
    shown = {
        "vehicle": vehicle,
        "name": name,
        "page": page,
        "part": part,
        "parts": PARTS,
        "forms": forms,
        "groups": groups(forms),
        "since": since,
        "next": PARTS[after] if after else None,
        "has_battery": part == "battery" and forms[0].instance.pk is not None,
    }
    return render(request, "cars/edit.html", shown)


def _sent(request: AccessRequest) -> QueryDict | None:
    return request.POST if request.method == "POST" else None


def _confirm(request: AccessRequest, vehicle: Vehicle, words: str, forms: Sequence[RecordForm]) -> None:
    messages.success(request, f"{vehicle}: {words}.")
    if isinstance(forms[0], VehicleForm) and (doubt := forms[0].doubt()):
        messages.warning(request, f"Chassis number kept as typed, but look again: {doubt}.")


def _go_on(request: AccessRequest, vehicle: Vehicle, part: str) -> HttpResponse:
    """To the next part when asked for, else to the car."""
    after = part_after(part)
    if "and_next" in request.POST and after:
        return redirect(reverse("car_edit", args=[vehicle.pk, after]) + keep_way_back(request))
    back = way_back(request)
    return redirect(back) if back else redirect("car", vehicle.pk)
