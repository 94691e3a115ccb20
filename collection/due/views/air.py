"""The air of each building through the last year, against the limits of damp and frost."""

from datetime import timedelta

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from collection.drawing.strips import Days
from collection.due.air_strips import building_air
from collection.due.core.air_of_buildings import air_of
from collection.due.queries.air import buildings_with_air
from collection.permissions import WORK, AccessRequest, needs
from collection.web.units import edge

A_YEAR = timedelta(days=365)


@require_safe
@needs(WORK)
def air(request: AccessRequest) -> HttpResponse:
    """Every building and yard."""
    today, reader = timezone.localdate(), edge(request.access.person.units)
    days = Days(today - A_YEAR, today)
    houses, faults = [], []
    for building in buildings_with_air(request.access):
        try:
            year = air_of(building, first=days.first, last=days.last, today=today)
        except ValueError as fault:  # a climate without all its months
            faults.append((building, str(fault)))
        else:
            houses.append(building_air(building, year, days, reader))
    shown = {"houses": houses, "faults": faults, "ends": (days.first, days.last)}
    return render(request, "due/air/air.html", shown)
