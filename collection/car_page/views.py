"""A car's page: what matters now, two years in strips, its record, its log; its curves beside it."""

from datetime import date

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from collection.car_page.photographs import then_and_now
from collection.car_page.strips import YEAR, strips_of
from collection.care.queries.batches import log_page
from collection.care.queries.care import day_of, open_tags
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
from collection.drawing.strips import Strip
from collection.drawing.timeline import Mark, timeline
from collection.due.cells import PRESSING
from collection.due.core.narrowing import Worth, worth_of
from collection.due.core.reasons import learned
from collection.due.views.drawing import draw
from collection.history.queries.history import done_since
from collection.life.core import choices
from collection.life.core.once import cached_reads
from collection.life.duties import DUTY_TITLES, DutyLine, lines_of
from collection.life.last_times import last_times
from collection.life.refresh import recompute_stale
from collection.models import FluidKind, Vehicle
from collection.permissions import SEE_CARS, AccessRequest, needs
from collection.places.queries.private import reach_of
from collection.recommission.core.plan import Recommissioning, build_recommissioning
from collection.recommission.queries import recommissioning_record
from collection.round.core.wishes import ready_of
from collection.round.queries.outings import out_since, outing_offered
from collection.web.units import Edge, edge

ENTRIES_A_PAGE = 5  # the latest; the others are a tap away
MOST_OF_RECORD = 10  # saves of the record, newest first; the storage history has all
CURVES = ("charge", "fuel_change")


@require_safe
@needs(SEE_CARS)
def car(request: AccessRequest, pk: int) -> HttpResponse:
    """The page of one car."""
    access, today = request.access, timezone.localdate()
    vehicle = access.vehicle(pk)
    stale = recompute_stale(access, today, access.only(vehicle))
    person_edge = edge(access.person.units)
    lines = lines_of(vehicle, today)
    with cached_reads():
        strips, fault = _strips(vehicle, lines, today, person_edge)
        worth = _worth(vehicle, lines, today)
        recommissioning, panels = _recommissioning(vehicle, today), _panels(vehicle, person_edge, today)
    context = {
        "vehicle": vehicle,
        "today": today,
        "stale": stale,
        "edge": person_edge,
        "lines": lines,
        "pressing": [line for line in lines if line.state in PRESSING],
        "tags": open_tags([vehicle]),
        "out": out_since(vehicle),
        "outing": outing_offered(vehicle, today),
        "wishes": ready_of(access, vehicle, today),
        "recommissioning": recommissioning,
        "strips": strips,
        "worth": worth,
        "ends": (today - YEAR, today + YEAR),
        "fault": fault,
        "panels": panels,
        "then_and_now": then_and_now(access, vehicle),
        "place": place_facts(vehicle.bay) if vehicle.bay else [],
        "private": reach_of(access, vehicle),
        "record": record_lines(vehicle, person_edge)[: -MOST_OF_RECORD - 1 : -1],
        "entries": log_page(
            vehicle,
            page=request.GET.get("page"),
            at_once=ENTRIES_A_PAGE,
            table=request.GET.get("table", ""),
        ),
        "table": request.GET.get("table", ""),
    }
    return render(request, "car_page/car.html", context)


@require_safe
@needs(SEE_CARS)
def car_curves(request: AccessRequest, pk: int) -> HttpResponse:
    """The curves of one car to explore, and what its readings taught."""
    access, today = request.access, timezone.localdate()
    vehicle = access.vehicle(pk)
    stale = recompute_stale(access, today, access.only(vehicle))
    with cached_reads():
        charts, lessons, fault = _forecast(vehicle, today, edge(access.person.units))
    context = {"vehicle": vehicle, "charts": charts, "lessons": lessons, "fault": fault, "stale": stale}
    return render(request, "car_page/curves.html", context)


def _strips(vehicle: Vehicle, lines: list[DutyLine], today: date, reader: Edge) -> tuple[list[Strip], str]:
    """The strips, and what in the record kept them from being drawn; none of a car that left."""
    if vehicle.left_on:
        return [], ""
    entries = done_since(vehicle, today - YEAR)
    try:
        return strips_of(vehicle, lines, entries, today=today, reader=reader), ""
    except ValueError as fault:
        return [], str(fault)


def _worth(vehicle: Vehicle, lines: list[DutyLine], today: date) -> list[tuple[DutyLine, Worth]]:
    """What one reading would narrow, most urgent first; nothing where the record cannot be read."""
    by_duty = {line.duty: line for line in lines if not line.name}
    try:
        return [(by_duty[one.duty], one) for one in worth_of(vehicle, by_duty, today=today)]
    except ValueError:
        return []


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
    return [*charts, done], [(duty, DUTY_TITLES[duty], lesson) for duty, lesson in lessons.items()], ""


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
