"""Writing down where cars stand; every edit works out the dates of the cars there anew."""

from collections.abc import Sequence
from datetime import date

from django.core.exceptions import ValidationError
from django.db import models, transaction
from django.db.models import ProtectedError, QuerySet

from collection.care.actions.floor import floor_of
from collection.care.actions.record import Edit
from collection.care.actions.settings import settings_recorded
from collection.life.refresh import refresh_vehicles
from collection.models import UNMARKED, Bay, Building, Climate, ClimateMonth, Site, Vehicle
from collection.places.actions.bays import check_blocking
from collection.places.queries.places import time_zones
from collection.web.faults import Faults, check, check_rows

COLDEST_C, HOTTEST_C = -50.0, 50.0  # policy: no month anywhere lies outside, and the forecasts hold inside
OUT_OF_ORDER = "Give the minimum no higher than the mean, and the mean no higher than the maximum."


@transaction.atomic
def save_climate(*, climate: Climate, months: Sequence[ClimateMonth], edit: Edit, today: date) -> Climate:
    """Save a climate with its twelve months; ValidationError names ``number-field`` (``1-mean_c``)."""
    check(climate, _name_taken(climate, Climate.objects.filter(organisation=climate.organisation)))
    with settings_recorded(list(Site.objects.filter(climate=climate.pk)), edit):
        climate.save()
        for month in months:
            month.climate = climate
        check_rows((str(month.month), month, _month_faults(month)) for month in months)
        if sorted(month.month for month in months) != list(range(1, 13)):
            raise ValidationError("A climate needs each of the twelve months once.")
        for month in months:
            month.save()
    refresh_cars(Vehicle.objects.filter(bay__building__site__climate=climate), today)
    return climate


def _month_faults(month: ClimateMonth) -> Faults:
    values = (month.min_c, month.mean_c, month.max_c)
    if None in values:
        return {}
    faults = {} if month.min_c <= month.mean_c <= month.max_c else {"mean_c": OUT_OF_ORDER}
    if month.min_c < COLDEST_C:
        faults["min_c"] = f"Colder than any month on earth: give {COLDEST_C:g} °C or more."
    if month.max_c > HOTTEST_C:
        faults["max_c"] = f"Hotter than any month on earth: give {HOTTEST_C:g} °C or less."
    return faults


@transaction.atomic
def save_site(*, site: Site, edit: Edit, today: date) -> Site:
    """Save a site; ValidationError names what is wrong, an unknown time zone among it."""
    faults = _name_taken(site, Site.objects.filter(organisation=site.organisation))
    if site.time_zone not in time_zones():
        faults["time_zone"] = f"“{site.time_zone}” is not a time zone: choose one such as Europe/London."
    if site.climate_id and site.climate.organisation_id not in (None, site.organisation_id):
        faults["climate"] = "That climate is not in your organisation: choose one from the list."
    check(site, faults)
    with settings_recorded([site], edit):
        site.save()
    refresh_cars(Vehicle.objects.filter(bay__building__site=site), today)
    return site


@transaction.atomic
def save_building(*, building: Building, edit: Edit, today: date) -> Building:
    """Save a building or yard; ValidationError names what is wrong."""
    check(building, _name_taken(building, Building.objects.filter(site=building.site)))
    with settings_recorded([building.site], edit):
        building.save()
        floor_of(building)
    refresh_cars(Vehicle.objects.filter(bay__building=building), today)
    return building


@transaction.atomic
def save_bay(*, bay: Bay, blocked_by: Sequence[Bay], edit: Edit, today: date) -> Bay:
    """Save a bay and what blocks it; ValidationError names what is wrong, a circle of bays among it."""
    taken = Bay.objects.filter(building=bay.building, row=bay.row, place=bay.place).exclude(pk=bay.pk)
    check(bay, {"place": f"There is already a bay {bay.label} in this building."} if taken.exists() else {})
    with settings_recorded([bay.building.site], edit):
        bay.save()
        check_blocking(bay=bay, blocked_by=blocked_by)
        bay.blocked_by.set(blocked_by)
    refresh_cars(bay.vehicles.all(), today)
    return bay


@transaction.atomic
def remove_place(*, place: Site | Building | Bay | Climate, edit: Edit) -> None:
    """Take out a place that nothing stands in; ValidationError says what still does."""
    try:
        with settings_recorded(_sites_of(place), edit):
            if isinstance(place, Building):
                place.bays.filter(row=UNMARKED).delete()
            place.delete()
    except ProtectedError as fault:
        held = ", ".join(sorted({str(thing) for thing in fault.protected_objects})[:5])
        raise ValidationError(
            f"{place} is still in use ({held}): move or remove what is in it first."
        ) from None


def _sites_of(place: Site | Building | Bay | Climate) -> list[Site]:
    """The site in whose chain the place stands; a climate in force nowhere stands in none."""
    if isinstance(place, Climate):
        return []
    if isinstance(place, Bay):
        return [place.building.site]
    return [place.site if isinstance(place, Building) else place]


def _name_taken(
    record: models.Model, others: "QuerySet[Site] | QuerySet[Building] | QuerySet[Climate]"
) -> Faults:
    name = getattr(record, "name", "")
    if not others.filter(name__iexact=name).exclude(pk=record.pk).exists():
        return {}
    return {"name": f"There is already a {record._meta.verbose_name} called {name}: choose another name."}


def refresh_cars(vehicles: QuerySet[Vehicle], today: date) -> None:
    """Work out anew the dates of those of the cars that are in storage."""
    refresh_vehicles(list(vehicles.filter(left_on__isnull=True).values_list("pk", flat=True)), today=today)
