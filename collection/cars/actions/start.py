"""The first place and the first cars, from few answers."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from django.core.exceptions import ValidationError
from django.db import transaction

from collection.care.actions.record import Edit, open_records
from collection.cars.actions.vehicles import put_last_uses, put_vehicle
from collection.life.refresh import refresh_vehicles
from collection.models import Basis, Building, LastEvent, LastUse, Organisation, Owner, Person, Site, Vehicle
from collection.places.actions.places import save_building, save_site
from collection.web.faults import at, check
from scheduler.vocabulary.car_kinds import CAR_KIND, CarKind, kind_of_year


@transaction.atomic
def open_place(*, site: Site, building: Building, owner: Person | None, edit: Edit, today: date) -> Building:
    """The first site with its first building; with ``owner`` the cars will all be theirs.

    ValidationError names what is wrong with the site or the building.
    """
    save_site(site=site, edit=edit, today=today)
    building.site = site
    save_building(building=building, edit=edit, today=today)
    if owner:
        keep_owner(organisation=site.organisation, name=str(owner), person=owner)
    return building


def keep_owner(*, organisation: Organisation, name: str, person: Person | None = None) -> Owner:
    """The owner of that name, written down where there is none yet."""
    known = Owner.objects.filter(organisation=organisation, name__iexact=name).first()
    if known:
        return known
    owner = Owner(organisation=organisation, name=name, person=person)
    check(owner, {})
    owner.save()
    return owner


@dataclass(frozen=True)
class FirstFacts:
    """What is written down of one car at first. Without a kind it is taken as that of its year."""

    prefix: str  # of its fields on the page
    vehicle: Vehicle
    kind: str
    owner: str
    driven_on: date | None


@transaction.atomic
def add_cars(*, cars: Sequence[FirstFacts], edit: Edit, today: date) -> list[Vehicle]:
    """Write several cars down at once; ValidationError names its fields ``prefix-field``, of every car."""
    faults: dict[str, list[str]] = {}
    for facts in cars:
        try:
            with transaction.atomic():
                _add(facts, today)
        except ValidationError as fault:
            faults |= at(facts.prefix, fault)
    if faults:
        raise ValidationError(faults)
    vehicles = [facts.vehicle for facts in cars]
    open_records(vehicles, edit)
    refresh_vehicles([vehicle.pk for vehicle in vehicles], today=today)
    return vehicles


def _add(facts: FirstFacts, today: date) -> None:
    vehicle = facts.vehicle
    if facts.owner:
        vehicle.owner = keep_owner(organisation=vehicle.organisation, name=facts.owner)
    if kind := _kind(facts):
        vehicle.fuel_system, vehicle.system_volts = kind.fuel_system, kind.system_volts
        vehicle.assumed = "fuel_system system_volts"
    put_vehicle(vehicle=vehicle, today=today)
    if facts.driven_on is None:
        return
    driven = LastUse(vehicle=vehicle, event=LastEvent.ROAD_USE, on=facts.driven_on, basis=Basis.OWNER)
    try:
        put_last_uses(vehicle=vehicle, uses=[driven], today=today)
    except ValidationError as fault:
        texts = [text for each in fault.message_dict.values() for text in each]
        raise ValidationError({"driven_on": texts}) from fault


def _kind(facts: FirstFacts) -> CarKind | None:
    if facts.kind:
        return CAR_KIND[facts.kind]
    return kind_of_year(facts.vehicle.year) if facts.vehicle.year else None
