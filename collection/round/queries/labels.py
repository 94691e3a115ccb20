"""Cars and bays that may carry a label, in walking order."""

from django.db.models import QuerySet

from collection.models import UNMARKED, Bay, Site, Vehicle
from collection.permissions import Access

WALK = ("building__site__name", "building__walk_order", "building__name", "row", "place")


def cars_to_label(access: Access, site: Site | None) -> QuerySet[Vehicle]:
    """Cars in storage, at one site or at all."""
    cars = access.vehicles().filter(left_on__isnull=True).select_related("bay__building__site", "owner")
    if site:
        cars = cars.filter(bay__building__site=site)
    return cars.order_by(*(f"bay__{name}" for name in WALK), "pk")


def bays_to_label(access: Access, site: Site | None) -> QuerySet[Bay]:
    """Bays, at one site or at all."""
    bays = access.bays().exclude(row=UNMARKED).select_related("building__site")
    if site:
        bays = bays.filter(building__site=site)
    return bays.order_by(*WALK)
