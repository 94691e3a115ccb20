"""The demo's keys, alarms and addresses, and which staff may ask for them."""

from collections.abc import Mapping
from datetime import datetime

from collection.host.sealing import seal
from collection.models import (
    CarNotes,
    KeyGrant,
    Membership,
    Organisation,
    Person,
    Role,
    Site,
    SiteNotes,
    Vehicle,
)

ALARMED = {
    "KM 1091": "Immobiliser under the dash, left. The radio's memory wakes the siren when power comes back.",
    "KM 1063": "Fuel cut-off behind the seat: off while it stands.",
}
SITE = {
    "address": "Kaldmere Barn\nUpper Valley Road 3\nKaldmere",
    "way_in": "Side gate by the water tank; the yard gate sticks in frost.",
    "alarm": "Two minutes to the panel in the Long Barn. If it sounds, ring Runa first.",
}


def add_private(
    organisation: Organisation, site: Site, cars: Mapping[str, Vehicle], manager: Person, now: datetime
) -> None:
    """Every key on its hook; the site's notes; all staff may ask for them at the one site."""
    for member in Membership.objects.filter(organisation=organisation, role=Role.STAFF):
        KeyGrant.objects.create(membership=member, site=site, given_by=manager, given_at=now)
    SiteNotes.objects.create(site=site, sealed=seal(f"site {site.pk}", SITE))
    CarNotes.objects.bulk_create(
        CarNotes(vehicle=car, site=site, sealed=seal(f"car {car.pk}", _notes(hook, name)))
        for hook, (name, car) in enumerate(cars.items(), 1)
    )


def _notes(hook: int, name: str) -> dict[str, str]:
    return {"keys_at": f"Key safe, hook {hook}", "alarm": ALARMED.get(name, "")}
