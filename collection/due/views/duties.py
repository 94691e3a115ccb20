"""What is due, car by car, and why."""

from datetime import date, timedelta
from itertools import groupby

from django.core.paginator import Paginator
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_safe

from collection.care.cautions import DEFER, cautions_for
from collection.cars.queries import rule_of
from collection.due.core.narrowing import worth_of
from collection.due.core.reasons import explain
from collection.due.forms.duties import DueFilter
from collection.due.queries.cars_due import (
    PRESSING,
    CarDue,
    cars_by_column,
    cars_due,
    cars_in_order,
    counted,
)
from collection.due.reasons import assumed, read_by
from collection.due.views.drawing import draw
from collection.life.duties import DUTY_TITLES, lines_of
from collection.life.refresh import recompute_stale
from collection.models import Vehicle
from collection.permissions import SEE_CARS, AccessRequest, needs
from collection.web.sorting import Column, Sorting
from collection.web.templatetags.longstand import STATES
from collection.web.units import edge
from scheduler.vocabulary.care import KIND
from scheduler.vocabulary.duties import DUTY
from scheduler.vocabulary.own_duties import is_own

CARS_A_PAGE = 50
LOOK_BACK = timedelta(days=120)
COLUMNS = (
    Column("state", "State"),
    Column("car", "Car", ("marque", "model", "year")),
    Column("by", "What", ("by",)),
    Column("also", "Also"),
)
OPEN = (*PRESSING, "unknown")  # the other states are folded


@require_safe
@needs(SEE_CARS)
def due(request: AccessRequest) -> HttpResponse:
    """Every car and what is next: what does harm by waiting first, what may wait folded."""
    access, today = request.access, timezone.localdate()
    stale = recompute_stale(access, today)
    form = DueFilter(request.GET, access=access, label_suffix="")
    wanted = form.wanted()
    summary = counted(access, wanted, today)
    listed = Sorting(request.GET, COLUMNS)
    ordered = cars_by_column(access, wanted, today, listed) if listed.column else None
    pages = Paginator(cars_in_order(access, wanted, today) if ordered is None else ordered, CARS_A_PAGE)
    pages.count = summary.cars  # counted already
    page = pages.get_page(request.GET.get("page"))
    cars = cars_due(access, list(page.object_list), wanted, today)
    context = {
        "form": form,
        "groups": [(OPEN[0], "In the order asked for", cars)] if listed.column else _by_state(cars),
        "heads": listed.heads,
        "open": OPEN,
        "cars": cars,
        "page": page,
        "today": today,
        "stale": stale,
        "summary": summary,
    }
    return render(request, "due/due.html", context)


def _by_state(cars: list[CarDue]) -> list[tuple[str, str, list[CarDue]]]:
    by_state = groupby(cars, lambda car: car.first.state)
    return [(name, STATES[name][0], list(some)) for name, some in by_state]


@require_safe
@needs(SEE_CARS)
def why(request: AccessRequest, pk: int, duty: str) -> HttpResponse:
    """The reason for one date, in full; a duty that a keeper added has a page of its own."""
    if is_own(duty):
        return redirect("own_duty", pk, duty)
    if duty not in DUTY_TITLES:
        raise Http404
    access, today = request.access, timezone.localdate()
    vehicle = access.vehicle(pk)
    stale = recompute_stale(access, today, access.only(vehicle))
    care_kind, rule = DUTY[duty].answered_by[0].care, rule_of(vehicle, duty)
    context = {
        "vehicle": vehicle,
        "duty": duty,
        "title": DUTY_TITLES[duty],
        "today": today,
        "stale": stale,
        "line": next((line for line in lines_of(vehicle, today) if line.duty == duty), None),
        "care_kind": care_kind,
        "rule": rule if rule.pk else None,
        "harm": DUTY[duty].harm,
        "cure": [KIND[kind].title for kind in DUTY[duty].cure],
        "cautions": cautions_for(care_kind, duty),
        "defer": DEFER,
    }
    return render(request, "due/why.html", context | _reason(request, vehicle, duty, today))


def _reason(request: AccessRequest, vehicle: Vehicle, duty: str, today: date) -> dict[str, object]:
    """The explanation and its chart; a record that cannot be computed is told as it is."""
    reader = edge(request.access.person.units)
    try:
        reason = explain(vehicle, duty, today=today)
        charts = draw(vehicle, [duty], back=LOOK_BACK, today=today, reader=reader)
    except ValueError as fault:
        return {"fault": str(fault)}
    return {
        "reason": reason,
        "inputs": read_by(reason.inputs, reader),
        "assumptions": assumed(reason.assumptions, duty),
        "charts": charts,
        "worth": worth_of(vehicle, [duty], today=today),
    }
