"""The first page: what may not wait, and every car with how each of its parts stands."""

from datetime import date

from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from collection.due.cells import PARTS
from collection.due.core.surer import MeasureFirst, measure_first
from collection.due.forms.collection import CollectionFilter
from collection.due.queries.collection import BY_COLUMN, act_now, cars_shown, in_order, with_cells
from collection.life.refresh import recompute_stale
from collection.models import Sensor
from collection.permissions import SEE_CARS, Access, AccessRequest, needs
from collection.web.sorting import Column, Sorting

CARS_A_PAGE = 60
SMALL, YOUNG = 30, 100  # cars, entries of their log: beyond that a round finds what is unknown
COLUMNS = (
    Column("name", "Car", BY_COLUMN["name"]),
    Column("place", "Place", BY_COLUMN["place"]),
    *(Column(part.code, part.title, (part.code,)) for part in PARTS),  # by what presses most of its duties
)
ACT_NOW = 5  # few things at once: the rest stands on the list of what is due


@require_safe
@needs(SEE_CARS)
def collection(request: AccessRequest) -> HttpResponse:
    """Every car that the person may see."""
    access, today = request.access, timezone.localdate()
    stale = recompute_stale(access, today)
    form = CollectionFilter(request.GET, access=access, label_suffix="")
    shown = form.shown()
    wanted = cars_shown(access, shown)
    pages = Paginator(in_order(wanted, shown, today), CARS_A_PAGE)
    pages.count = wanted.count()  # counted without being put in order
    page = pages.get_page(request.GET.get("page"))
    context = {
        "form": form,
        "cars": with_cells(access, list(page.object_list), today),
        "page": page,
        "act_now": act_now(access, today, ACT_NOW),
        "heads": Sorting(request.GET, COLUMNS).heads,
        "measure_first": [] if request.GET else _measure_first(access, today),
        "silent": _silent(access),
        "today": today,
        "stale": stale,
    }
    return render(request, "due/collection/collection.html", context)


def _silent(access: Access) -> list[Sensor]:
    """Sensors that have not been heard for too long; for those who can go and look."""
    now = timezone.now()
    return [row for row in access.sensors() if row.silent_since(now)] if access.may_work else []


def _measure_first(access: Access, today: date) -> list[MeasureFirst]:
    """What would make the dates of a small collection surer that just began; for who can write it down."""
    if not access.may_edit:
        return []
    cars = list(access.vehicles().filter(left_on__isnull=True)[: SMALL + 1])
    if len(cars) > SMALL or access.entries().count() > YOUNG:
        return []
    try:
        return measure_first(cars, today=today)
    except ValueError:  # a record that cannot be worked out is named above already
        return []
