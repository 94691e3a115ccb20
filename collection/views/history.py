"""The storage history of one car, to read and to print."""

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from collection.bridge.air import air_in
from collection.bridge.looking_back import walk_round_days, windows_then
from collection.bridge.reasons import reasons
from collection.bridge.refresh import make_fresh
from collection.models import Entry, Vehicle
from collection.permissions import SEE_CARS, AccessRequest, needs
from collection.queries.care import open_tags
from collection.queries.duties import DUTY_TITLES, lines_of
from collection.queries.history import Gap, Stay, events, not_done, silences, standing, stays
from collection.queries.intervals import waits
from collection.record_words import car_panel
from collection.units import Edge, edge

DAY = timedelta(days=1)
SYSTEMS = (
    ("Battery", ("charge",)),
    ("Engine", ("run_up", "engine_oil")),
    ("Fuel", ("stabiliser", "fuel_change")),
    ("Cooling", ("coolant",)),
    ("Brakes", ("brake_fluid",)),
    ("Gearbox and axle", ("gearbox_oil", "axle_oil")),
    ("Tyres", ("tyre_pressure", "tyre_move")),
    ("The whole car", ("inspection",)),
)


@require_safe
@needs(SEE_CARS)
def history(request: AccessRequest, pk: int) -> HttpResponse:
    """Where it stood, what was done, what was missed, and its state now."""
    access, today = request.access, timezone.localdate()
    vehicle, person_edge = access.vehicle(pk), edge(access.person.units)
    make_fresh(access, today)
    told = events(vehicle)
    entries = standing(told)
    missed, state, fault = _forecast_side(vehicle, entries, today)
    context = {
        "vehicle": vehicle, "today": today, "edge": person_edge, "events": told, "fault": fault,
        "facts": car_panel(vehicle, person_edge).facts, "tags": open_tags([vehicle]),
        "stays": [(stay, _air(stay, person_edge, today)) for stay in stays(vehicle, entries)],
        "missed": sorted(missed, key=lambda gap: gap.since), "systems": state,
        "first": entries[0] if entries else None,
    }  # fmt: skip
    return render(request, "history/history.html", context)


def _forecast_side(
    vehicle: Vehicle, entries: Sequence[Entry], today: date
) -> tuple[list[Gap], list[dict[str, Any]], str]:
    """What was missed, the state of each system, and why either cannot be told in full."""
    until = vehicle.left_on or today
    days = [timezone.localtime(entry.done_at).date() for entry in entries]
    longest = walk_round_days(vehicle)
    missed = not_done(entries, DUTY_TITLES)
    missed += silences(days, since=vehicle.stored_since, until=until, longest_days=longest)
    try:
        missed += _late_cares(vehicle, entries)
        if vehicle.left_on:
            return missed, [], ""
        return missed + _late_now(vehicle, today), _systems(vehicle, today), ""
    except ValueError as fault:
        return missed, [], str(fault)


def _late_cares(vehicle: Vehicle, entries: Sequence[Entry]) -> list[Gap]:
    """Cares that came after the last day of their window, as it stood on the eve of the care."""
    asked = [(duty, day - DAY) for duty, day in waits(entries, vehicle.stored_since)]
    return [
        Gap(then.late, then.on + DAY, _came_late(then.duty, then.late, then.on + DAY))
        for then in windows_then(vehicle, asked)
        if then.late and not then.held and then.late <= then.on
    ]  # fmt: skip


def _came_late(duty: str, late: date, done: date) -> str:
    days = (done - late).days
    return f"{DUTY_TITLES[duty]} came {days} day{'' if days == 1 else 's'} after the last day of its window"


def _late_now(vehicle: Vehicle, today: date) -> list[Gap]:
    late = (line for line in lines_of(vehicle, today) if line.state == "late")
    return [Gap(line.late, None, f"{line.title} is late") for line in late if line.late]


def _systems(vehicle: Vehicle, today: date) -> list[dict[str, Any]]:
    """Each system with its duties and the reason of each."""
    lines = {line.duty: line for line in lines_of(vehicle, today)}
    why = reasons(vehicle, today=today)
    return [
        {
            "title": title,
            "duties": [(lines[duty], why[duty]) for duty in duties if duty in lines and duty in why],
        }
        for title, duties in SYSTEMS
    ]


def _air(stay: Stay, person_edge: Edge, today: date) -> str:
    """The air of a stay in words."""
    if stay.building is None:
        return ""
    air, unit = air_in(stay.building, today=today), person_edge.temperature_unit
    winter, summer = person_edge.from_c(air.winter_c), person_edge.from_c(air.summer_c)
    said = (
        f"coldest quarter about {winter:.0f} {unit} at {air.winter_rh_pct:.0f} % humidity, "
        f"warmest {summer:.0f} {unit} at {air.summer_rh_pct:.0f} %"
    )
    return said.replace("-", "−")
