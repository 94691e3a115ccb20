"""The demo's keys, alarms and addresses, and which staff may know them."""

from collections.abc import Mapping

from collection.models import CarNotes, Membership, Organisation, Role, Site, SiteNotes, Vehicle

ALARMED = {
    "KM 1091": "Immobiliser under the dash, left. The radio's memory wakes the siren when power comes back.",
    "KM 1063": "Fuel cut-off behind the seat: off while it stands.",
}


def add_private(organisation: Organisation, site: Site, cars: Mapping[str, Vehicle]) -> None:
    """Every key on its hook; the site's notes; all staff assigned to the one site."""
    for member in Membership.objects.filter(organisation=organisation, role=Role.STAFF):
        member.sites.add(site)
    SiteNotes.objects.create(
        site=site,
        address="Kaldmere Barn\nUpper Valley Road 3\nKaldmere",
        way_in="Side gate by the water tank; the yard gate sticks in frost.",
        alarm="Two minutes to the panel in the Long Barn. If it sounds, ring Runa first.",
    )
    CarNotes.objects.bulk_create(
        CarNotes(vehicle=car, keys_at=f"Key safe, hook {hook}", alarm=ALARMED.get(name, ""))
        for hook, (name, car) in enumerate(cars.items(), 1)
    )
