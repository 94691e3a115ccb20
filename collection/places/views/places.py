"""Sites, buildings, bays and climates."""

from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.forms import BaseForm
from django.http import HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from collection.care.actions.record import Edit
from collection.models import UNMARKED, Bay, Building, Climate, ClimateMonth, Site
from collection.permissions import MANAGE, AccessRequest, needs
from collection.places.actions.bays import Row, add_bays
from collection.places.actions.places import remove_place, save_bay, save_building, save_climate, save_site
from collection.places.forms.places import BayForm, BuildingForm, ClimateForm, MonthForm, RowForm, SiteForm
from collection.places.queries import places as query
from collection.web.form_faults import saved
from collection.web.sorting import Column, Sorting
from collection.web.units import edge
from collection.web.way_back import way_back

MOST_DIGITS = 10  # longer than any row number
BAY_COLUMNS = (
    Column("bay", "Bay", ("row", "place")),
    Column("car", "Car"),
    Column("has", "Has", ("power_outlet", "exhaust_extraction")),
    Column("behind", "Blocked by"),
)
CLIMATE_COLUMNS = (
    Column("climate", "Climate", ("name",)),
    Column("basis", "Where the figures come from", ("basis",)),
    Column("january", "January"),
    Column("july", "July"),
    Column("do", "Do"),
)


@needs(MANAGE)
def places(request: AccessRequest) -> HttpResponse:
    """Every site with its buildings and bays, and who stands where."""
    bays = Sorting(request.GET, BAY_COLUMNS, "bays")
    climates = Sorting(request.GET, CLIMATE_COLUMNS, "climates")
    shown = {
        "sites": list(query.sites_with_places(request.access, bays)),
        "bay_heads": bays.heads,
        "climates": list(climates.rows(query.climates_with_months(request.access))),
        "climate_heads": climates.heads,
    }
    return render(request, "places/places.html", shown)


@needs(MANAGE)
def site_new(request: AccessRequest) -> HttpResponse:
    """A further site."""
    access = request.access
    return _site(request, Site(organisation=access.organisation, time_zone=str(access.time_zone)))


@needs(MANAGE)
def site_edit(request: AccessRequest, pk: int) -> HttpResponse:
    """A site's name, zone and climate."""
    return _site(request, get_object_or_404(request.access.sites(), pk=pk))


def _site(request: AccessRequest, site: Site) -> HttpResponse:
    units = edge(request.access.person.units)
    form = SiteForm(_sent(request), instance=site, edge=units, climates=request.access.climates())
    if _asked_to_remove(request, site):
        return redirect("places")
    today = timezone.localdate()
    if request.method == "POST" and saved(
        [form], lambda: save_site(site=site, edit=_edit(request, **form.version()), today=today)
    ):
        return _done(request, f"{site}: saved.")
    return _page(request, "Site", site, form)


@needs(MANAGE)
def building_new(request: AccessRequest, site: int) -> HttpResponse:
    """A further building or yard of a site."""
    return _building(request, Building(site=get_object_or_404(request.access.sites(), pk=site)))


@needs(MANAGE)
def building_edit(request: AccessRequest, pk: int) -> HttpResponse:
    """A building's shelter and order."""
    return _building(request, get_object_or_404(request.access.buildings().select_related("site"), pk=pk))


def _building(request: AccessRequest, building: Building) -> HttpResponse:
    form = BuildingForm(_sent(request), instance=building, edge=edge(request.access.person.units))
    if _asked_to_remove(request, building):
        return redirect("places")
    today = timezone.localdate()
    if request.method == "POST" and saved(
        [form], lambda: save_building(building=building, edit=_edit(request, **form.version()), today=today)
    ):
        return _done(request, f"{building}: saved.")
    return _page(request, f"Building or yard at {building.site}", building, form)


@needs(MANAGE)
def bay_new(request: AccessRequest, building: int) -> HttpResponse:
    """Bays of a row, one or many."""
    house = get_object_or_404(request.access.buildings().select_related("site"), pk=building)
    form = RowForm(_sent(request))

    def add() -> None:
        add_bays(building=house, row=Row(**form.cleaned_data), edit=_edit(request))

    if request.method == "POST" and saved([form], add):
        return _done(request, f"{house}: row {form.cleaned_data['row']} is there.")
    return _page(request, f"Bays in {house}", Bay(building=house), form)


@needs(MANAGE)
def bay_edit(request: AccessRequest, pk: int) -> HttpResponse:
    """What a bay has, and what stands in its way."""
    bays = request.access.bays().exclude(row=UNMARKED).select_related("building__site")
    bay = get_object_or_404(bays, pk=pk)
    name = bay.label
    units = edge(request.access.person.units)
    form = BayForm(_sent(request), instance=bay, edge=units, beside=query.bays_beside(bay))
    if _asked_to_remove(request, bay):
        return redirect("places")
    today = timezone.localdate()
    if request.method == "POST" and saved(
        [form],
        lambda: save_bay(
            bay=bay, blocked_by=list(form.cleaned_data["blocked_by"]), edit=_edit(request), today=today
        ),
    ):
        return _done(request, f"Bay {bay.label}: saved.")
    return _page(request, f"Bay {name}, {bay.building}", bay, form)


@needs(MANAGE)
def climate_new(request: AccessRequest) -> HttpResponse:
    """A climate of one's own, from nothing or from another one (``?from=``)."""
    start = request.access.climates().filter(pk=_number(request.GET.get("from", ""))).first()
    climate = Climate(organisation=request.access.organisation)
    return _climate(request, climate, query.months_like(start), start)


@needs(MANAGE)
def climate_edit(request: AccessRequest, pk: int) -> HttpResponse:
    """A climate of the organisation's own; generic types and what loggers measured stay as they are."""
    own = request.access.climates().filter(organisation=request.access.organisation, measured__isnull=True)
    climate = get_object_or_404(own, pk=pk)
    return _climate(request, climate, query.months_of(climate), None)


def _climate(
    request: AccessRequest, climate: Climate, months: list[ClimateMonth], start: Climate | None
) -> HttpResponse:
    if climate.pk and _asked_to_remove(request, climate):
        return redirect("places")
    units, sent, today = edge(request.access.person.units), _sent(request), timezone.localdate()
    form = ClimateForm(sent, instance=climate, edge=units)
    rows = [MonthForm(sent, instance=month, prefix=str(month.month), edge=units) for month in months]
    if request.method == "POST" and saved(
        [form, *rows],
        lambda: save_climate(
            climate=climate, months=months, edit=_edit(request, **form.version()), today=today
        ),
    ):
        return _done(request, f"{climate}: saved.")
    shown = {"form": form, "rows": rows, "start": start, "climate": climate, "unit": units.unit("°C").name}
    return render(request, "places/climate.html", shown)


def _page(request: AccessRequest, title: str, place: Site | Building | Bay, form: BaseForm) -> HttpResponse:
    return render(request, "places/edit.html", {"title": title, "place": place, "form": form})


def _done(request: AccessRequest, words: str) -> HttpResponse:
    messages.success(request, words)
    return redirect(way_back(request) or "places")


def _asked_to_remove(request: AccessRequest, place: Site | Building | Bay | Climate) -> bool:
    """Take the place out if the page's other button was pressed; says what came of it."""
    if request.method != "POST" or "remove" not in request.POST or place.pk is None:
        return False
    name = str(place)
    try:
        remove_place(place=place, edit=_edit(request))
        messages.success(request, f"{name}: removed.")
    except ValidationError as fault:
        messages.error(request, " ".join(fault.messages))
    return True


def _edit(request: AccessRequest, **version: Any) -> Edit:
    return Edit(request.access.person, timezone.now(), **version)


def _sent(request: AccessRequest) -> QueryDict | None:
    return request.POST if request.method == "POST" else None


def _number(text: str) -> int:
    """A row's number; 0, which no row has, for anything else."""
    return int(text) if text.isdecimal() and len(text) < MOST_DIGITS else 0
