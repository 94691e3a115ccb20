"""A car's page: where it stands, what is due, its curves, its record, its log."""

from datetime import date, timedelta

from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from collection.care.queries.care import day_of, log_of, open_tags
from collection.cars.queries import battery_of, fluids_of, fuel_of, last_uses_of, tyres_of
from collection.cars.record_words import record_lines
from collection.cars.words import (
    Panel,
    battery_panel,
    car_panel,
    fluids_panel,
    fuel_panel,
    last_panel,
    place_facts,
    tyres_panel,
)
from collection.drawing.charts import Chart
from collection.drawing.timeline import Mark, timeline
from collection.due.core.reasons import learned
from collection.due.views.drawing import draw
from collection.history.queries.history import done_since
from collection.life.core import choices
from collection.life.core.gather import remembered
from collection.life.duties import DUTY_TITLES, lines_of
from collection.life.last_times import last_times
from collection.life.refresh import recompute_stale
from collection.models import FluidKind, Vehicle
from collection.permissions import SEE_CARS, AccessRequest, needs
from collection.places.queries.private import reach_of
from collection.recommission.core.plan import Recommissioning, build_recommissioning
from collection.recommission.queries import recommissioning_record
from collection.web.units import Edge, edge

ENTRIES_A_PAGE = 15
MOST_OF_RECORD = 10  # saves of the record, newest first; the storage history has all
YEAR = timedelta(days=365)
CURVES = ("charge", "fuel_change")


@require_safe
@needs(SEE_CARS)
def car(request: AccessRequest, pk: int) -> HttpResponse:
    """The page of one car."""
    access, today = request.access, timezone.localdate()
    vehicle = access.vehicle(pk)
    stale = recompute_stale(access, today, access.only(vehicle))
    person_edge = edge(access.person.units)
    with remembered():
        charts, lessons, fault = _forecast(vehicle, today, person_edge)
        recommissioning, panels = _recommissioning(vehicle, today), _panels(vehicle, person_edge, today)
    context = {
        "vehicle": vehicle,
        "today": today,
        "stale": stale,
        "edge": person_edge,
        "lines": lines_of(vehicle, today),
        "tags": open_tags([vehicle]),
        "recommissioning": recommissioning,
        "charts": charts,
        "lessons": lessons,
        "fault": fault,
        "panels": panels,
        "place": place_facts(vehicle.bay) if vehicle.bay else [],
        "private": reach_of(access, vehicle),
        "record": record_lines(vehicle, person_edge)[: -MOST_OF_RECORD - 1 : -1],
        "entries": Paginator(log_of(vehicle), ENTRIES_A_PAGE).get_page(request.GET.get("page")),
    }
    return render(request, "car_page/car.html", context)


def _recommissioning(vehicle: Vehicle, today: date) -> Recommissioning | None:
    """What may be done with the car; None where it left, or the record cannot be read."""
    if vehicle.left_on:
        return None
    try:
        return build_recommissioning(recommissioning_record(vehicle), today=today)
    except ValueError:
        return None


Lessons = list[tuple[str, str, tuple[str, ...]]]  # duty, its title, what readings taught


def _forecast(vehicle: Vehicle, today: date, reader: Edge) -> tuple[list[Chart], Lessons, str]:
    """The charts, what its readings taught, and what in the record kept both from being worked out."""
    first = today - YEAR
    marks = [Mark(day_of(e), e.get_kind_display(), str(e.by)) for e in done_since(vehicle, first)]
    done = timeline(marks, first=first, today=today)
    if vehicle.left_on:
        return [done], [], ""
    try:
        charts = draw(vehicle, CURVES, back=YEAR, today=today, reader=reader)
        lessons = learned(vehicle, today=today)
    except ValueError as fault:
        return [done], [], str(fault)
    return [*charts, done], [(duty, DUTY_TITLES[duty], told) for duty, told in lessons.items()], ""


def _panels(vehicle: Vehicle, person_edge: Edge, today: date) -> list[Panel]:
    fluid_labels = {kind: dict(choices.fluid_types(kind)) for kind in FluidKind.values}
    return [
        car_panel(vehicle, person_edge),
        battery_panel(battery_of(vehicle), dict(choices.chemistries())),
        fuel_panel(fuel_of(vehicle), dict(choices.fuel_grades()), person_edge),
        fluids_panel(fluids_of(vehicle), fluid_labels),
        tyres_panel(tyres_of(vehicle), person_edge),
        last_panel(last_uses_of(vehicle), _last_times(vehicle, today)),
    ]


def _last_times(vehicle: Vehicle, today: date) -> dict[str, date]:
    """None beyond the record where the forecast cannot read it; the page says so beside the charts."""
    try:
        return last_times(vehicle, today=today)
    except ValueError:
        return {}
