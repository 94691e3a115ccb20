"""Cars with their windows and what was done, for a year across."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import Q, QuerySet

from collection.care.queries.care import day_of
from collection.due.cells import DUTIES_OF, OWN_IN, falls_in
from collection.life.duties import DutyLine, lines
from collection.models import DutyRow, Entry, Holiday, Vehicle
from collection.models.care import effective
from collection.permissions import Access
from scheduler.vocabulary.duties import DUTY
from scheduler.vocabulary.own_duties import OWN_CARE

PLACE, OWNER, CAR, WORK = "place", "owner", "car", "work"
FROST_C = 0.0  # a month whose mean daily minimum lies below has frost on many of its nights
IN_ORDER = {
    PLACE: (
        "bay__building__site__name",
        "bay__building__walk_order",
        "bay__building__name",
        "bay__row",
        "bay__place",
        "pk",
    ),
    OWNER: ("owner__name", "marque", "model", "year", "pk"),
    CAR: ("marque", "model", "year", "pk"),
    WORK: ("marque", "model", "year", "pk"),
}


@dataclass(frozen=True)
class CarYear:
    """One car: its windows, and what was done on which day."""

    vehicle: Vehicle
    lines: list[DutyLine]
    done: list[tuple[date, Entry]]


@dataclass(frozen=True)
class Season:
    """What makes days of a site differ: months of frost outside (1 to 12), and days on which it is closed."""

    frost: frozenset[int]
    holidays: list[Holiday]


def seasons(access: Access, first: date, last: date) -> dict[int, Season]:
    """The seasons of the sites in reach, by their keys."""
    sites = list(access.sites().prefetch_related("climate__months"))
    closed: dict[int, list[Holiday]] = defaultdict(list)
    for holiday in Holiday.objects.filter(site__in=sites, day__range=(first, last)):
        closed[holiday.site_id].append(holiday)
    return {
        site.pk: Season(
            frozenset(month.month for month in site.climate.months.all() if month.min_c < FROST_C),
            closed[site.pk],
        )
        for site in sites
    }


def cars_by(access: Access, by: str, *, site: int | None, owner: int | None) -> QuerySet[Any, int]:
    """The keys of the cars in storage, in the order of their places or owners."""
    wanted = {name: value for name, value in (("bay__building__site", site), ("owner", owner)) if value}
    cars = access.vehicles().filter(left_on__isnull=True, **wanted)
    return cars.order_by(*IN_ORDER[by]).values_list("pk", flat=True)


def years_of(access: Access, pks: Sequence[int], part: str, *, since: date, today: date) -> list[CarYear]:
    """These cars in their order, with the duties of one part (empty: of all) and the care for them."""
    duties = [duty for code, some in DUTIES_OF.items() for duty in some if part in ("", code)]
    kinds = {answer.care for duty in duties for answer in DUTY[duty].answered_by}
    if part in ("", *OWN_IN):
        kinds.add(OWN_CARE)
    cars = access.vehicles().filter(pk__in=pks).select_related("owner", "bay__building__site").in_bulk()
    rows: dict[int, list[DutyRow]] = defaultdict(list)
    for row in DutyRow.objects.filter(falls_in(part) if part else Q(), vehicle__in=cars):
        row.vehicle = cars[row.vehicle_id]
        rows[row.vehicle_id].append(row)
    done: dict[int, list[tuple[date, Entry]]] = defaultdict(list)
    entries = Entry.objects.filter(vehicle__in=cars, done_at__date__gte=since, kind__in=kinds)
    for entry in effective(entries).order_by("done_at"):
        done[entry.vehicle_id].append((day_of(entry), entry))
    return [CarYear(cars[pk], lines(rows[pk], today), done[pk]) for pk in pks if pk in cars]
