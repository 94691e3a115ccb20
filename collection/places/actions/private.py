"""Keys, alarms and addresses: opened, written down and released, each time with who did it."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from django.core.exceptions import ValidationError
from django.db import transaction

from collection.host.sealing import Unreadable, seal, sealed_anew, unseal
from collection.models import CarNotes, PrivateEvent, PrivateShowing, Site, SiteNotes, Vehicle
from collection.permissions import Access
from collection.places.queries.private import Reach

CAR_FIELDS = ("keys_at", "alarm")
SITE_FIELDS = ("address", "way_in", "alarm")
UNREADABLE = (
    "What stands here is sealed under a secret that this installation no longer has. Whoever runs it "
    "names the old secret in LONGSTAND_OLD_SECRET_KEYS; what you save now takes its place for good."
)


@dataclass(frozen=True)
class Opened:
    """Notes as they were written, a text a field; what is wrong where they do not open."""

    values: Mapping[str, str]
    fault: str = ""


@transaction.atomic
def open_car(*, access: Access, reach: Reach, now: datetime) -> tuple[Opened | None, Opened | None]:
    """A car's notes and those of the site where it stands, None where not granted; written in the log."""
    car, site = reach.vehicle, reach.site
    note_event(access, PrivateEvent.SHOWN, now, vehicle=car, site=site if reach.may_site else None)
    of_car = _opened(f"car {car.pk}", CarNotes.objects.filter(vehicle=car).first(), CAR_FIELDS)
    return of_car if reach.may_car else None, _of_site(site) if site and reach.may_site else None


@transaction.atomic
def open_site(*, access: Access, site: Site, now: datetime) -> Opened:
    """A site's notes; written in the log."""
    note_event(access, PrivateEvent.SHOWN, now, site=site)
    return _of_site(site)


def _of_site(site: Site) -> Opened:
    return _opened(f"site {site.pk}", SiteNotes.objects.filter(site=site).first(), SITE_FIELDS)


def _opened(of: str, notes: CarNotes | SiteNotes | None, fields: tuple[str, ...]) -> Opened:
    if notes is None:
        return Opened(dict.fromkeys(fields, ""))
    try:
        return Opened(unseal(of, notes.sealed))
    except Unreadable:
        return Opened(dict.fromkeys(fields, ""), UNREADABLE)


@transaction.atomic
def write_car(*, access: Access, vehicle: Vehicle, values: Mapping[str, str], now: datetime) -> None:
    """Write a car's notes down; they stay with the site where they were first written."""
    notes = CarNotes.objects.select_for_update().filter(vehicle=vehicle).first()
    site = notes.site if notes else vehicle.bay.building.site if vehicle.bay else None
    if not any(values.values()):
        CarNotes.objects.filter(vehicle=vehicle).delete()
    else:
        sealed = seal(f"car {vehicle.pk}", {name: values[name] for name in CAR_FIELDS})
        CarNotes.objects.update_or_create(vehicle=vehicle, defaults={"sealed": sealed, "site": site})
    note_event(access, PrivateEvent.WRITTEN, now, vehicle=vehicle, site=site)


@transaction.atomic
def write_site(*, access: Access, site: Site, values: Mapping[str, str], now: datetime) -> None:
    """Write a site's notes down."""
    if not any(values.values()):
        SiteNotes.objects.filter(site=site).delete()
    else:
        sealed = seal(f"site {site.pk}", {name: values[name] for name in SITE_FIELDS})
        SiteNotes.objects.update_or_create(site=site, defaults={"sealed": sealed})
    note_event(access, PrivateEvent.WRITTEN, now, site=site)


@transaction.atomic
def release_car(*, access: Access, vehicle: Vehicle, now: datetime) -> Site:
    """Let whoever may ask for keys at the site where the car stands now ask for this car's."""
    if vehicle.bay is None:
        raise ValidationError("The car stands in no bay: move it to one first.")
    site = vehicle.bay.building.site
    CarNotes.objects.filter(vehicle=vehicle).update(site=site)
    note_event(access, PrivateEvent.RELEASED, now, vehicle=vehicle, site=site)
    return site


def note_event(
    access: Access, what: str, now: datetime, *, vehicle: Vehicle | None = None, site: Site | None = None
) -> None:
    """Write down who did it, for the managers of the organisation."""
    PrivateShowing.objects.create(
        organisation=access.organisation,
        person=access.person,
        what=what,
        vehicle=vehicle,
        site=site,
        at=now,
    )


@transaction.atomic
def seal_all_anew() -> int:
    """Seal every note under the secret of now; how many no secret opens, which stay as they are."""
    lost = 0
    for model in (CarNotes, SiteNotes):
        for notes in model.objects.select_for_update():
            try:
                notes.sealed = sealed_anew(notes.sealed)
            except Unreadable:
                lost += 1
            else:
                notes.save(update_fields=["sealed"])
    return lost
