"""Keys, alarms and addresses, for whoever may know them."""

from dataclasses import dataclass

from collection.models import CarNotes, Owner, Site, SiteNotes, Vehicle
from collection.permissions import Access


@dataclass(frozen=True)
class Private:
    """What belongs to one car; where nothing is written down, the notes are empty."""

    car: CarNotes
    site: SiteNotes | None
    owner: Owner


def private_of(access: Access, vehicle: Vehicle) -> Private | None:
    """The private notes of a car in reach; None for whoever may not know them."""
    if not access.private_cars().filter(pk=vehicle.pk).exists():
        return None
    site = vehicle.bay.building.site if vehicle.bay else None
    return Private(car_notes(access, vehicle), site_notes(access, site) if site else None, vehicle.owner)


def car_notes(access: Access, vehicle: Vehicle) -> CarNotes:
    """A car's notes, or new ones with nothing in them."""
    return access.car_notes().filter(vehicle=vehicle).first() or CarNotes(vehicle=vehicle)


def site_notes(access: Access, site: Site) -> SiteNotes:
    """A site's notes, or new ones with nothing in them."""
    return access.site_notes().filter(site=site).first() or SiteNotes(site=site)
