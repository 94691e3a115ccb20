"""Twelve months across, a row for each car."""

from collections.abc import Iterable
from datetime import date, timedelta
from itertools import groupby

from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from collection.drawing.strips import Days, Strip
from collection.due.cells import DUTIES_OF, PARTS
from collection.due.forms.timeline import TimelineFilter
from collection.due.queries.timeline import CAR, OWNER, WORK, CarYear, cars_by, seasons, years_of
from collection.due.year_strips import shades_of, year_strip
from collection.life.refresh import recompute_stale
from collection.models import Vehicle
from collection.permissions import SEE_CARS, AccessRequest, needs

CARS_A_PAGE = 60
MONTHS, MONTHS_BACK = 12, 2


@require_safe
@needs(SEE_CARS)
def timeline(request: AccessRequest) -> HttpResponse:
    """Windows as blocks, what was done as strokes."""
    access, today = request.access, timezone.localdate()
    stale = recompute_stale(access, today)
    form = TimelineFilter(request.GET, access=access, label_suffix="")
    asked = form.asked()
    by, work = asked["by"], asked["work"]
    keys = cars_by(access, by, site=asked["site"], owner=asked["owner"])
    page = Paginator(keys, CARS_A_PAGE).get_page(request.GET.get("page"))
    starts = _months(today)
    days = Days(starts[0], starts[-1] - timedelta(days=1))
    cars = years_of(access, list(page.object_list), work, since=days.first, today=today)
    sites = seasons(access, days.first, days.last)
    shades = {site: shades_of(season, days, starts) for site, season in sites.items()}

    def strips(some: Iterable[CarYear], part: str) -> list[tuple[Vehicle, Strip]]:
        return [(car.vehicle, year_strip(car, days, part, today, shades.get(_site(car), ()))) for car in some]

    if by == WORK:
        parts = [part for part in PARTS if DUTIES_OF[part.code] and work in ("", part.code)]
        groups = [(part.title, [row for row in strips(cars, part.code) if row[1].bars]) for part in parts]
    else:
        headed = groupby(cars, key=lambda car: _heading(car, by))
        groups = [(heading, strips(some, work)) for heading, some in headed]
    context = {
        "form": form,
        "groups": [group for group in groups if group[1]],
        "page": page,
        "months": starts[:-1],
        "frost": any(season.frost for season in sites.values()),
        "holidays": any(season.holidays for season in sites.values()),
        "lanes": by != WORK and not work,
        "stale": stale,
    }
    return render(request, "due/timeline/timeline.html", context)


def _months(today: date) -> list[date]:
    """The first days of the months shown, and of the one after them."""
    month = today.year * 12 + today.month - 1 - MONTHS_BACK
    return [date(at // 12, at % 12 + 1, 1) for at in range(month, month + MONTHS + 1)]


def _site(car: CarYear) -> int:
    return car.vehicle.bay.building.site_id if car.vehicle.bay else 0  # which no site has


def _heading(car: CarYear, by: str) -> str:
    if by == OWNER:
        return car.vehicle.owner.name
    if by == CAR:
        return car.vehicle.marque
    bay = car.vehicle.bay
    return f"{bay.building.name}, {bay.building.site.name}" if bay else "In no bay"
