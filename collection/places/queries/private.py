"""Whose keys and alarms somebody may ask for, and who asked; what they say is opened by an action only."""

from dataclasses import dataclass

from django.db.models import QuerySet

from collection.models import CarNotes, PrivateShowing, Site, Vehicle
from collection.permissions import Access


@dataclass(frozen=True)
class Reach:
    """What of one car somebody may ask for, and the site that holds its notes where it stands elsewhere."""

    vehicle: Vehicle
    site: Site | None  # where it stands
    may_car: bool
    may_site: bool
    elsewhere: bool  # its notes belong to another site than where it stands
    held_by: Site | None


def reach_of(access: Access, vehicle: Vehicle) -> Reach | None:
    """For a car in reach; None for whoever may ask for nothing."""
    site = vehicle.bay.building.site if vehicle.bay else None
    may_car = access.private_cars().filter(pk=vehicle.pk).exists()
    may_site = site is not None and access.private_sites().filter(pk=site.pk).exists()
    if not may_car and not may_site:
        return None
    notes = CarNotes.objects.filter(vehicle=vehicle).select_related("site").first()
    elsewhere = notes is not None and site is not None and notes.site != site
    return Reach(vehicle, site, may_car, may_site, elsewhere, notes.site if notes else None)


def showings_listed(access: Access) -> QuerySet[PrivateShowing]:
    """The latest first, with what they name."""
    return access.private_showings().select_related("person", "vehicle", "site")
