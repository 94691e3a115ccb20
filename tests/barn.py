"""A small barn and a few known people; values are fixed and belong together."""

from datetime import UTC, date, datetime

import pytest
from django.test import Client

from collection.host.sealing import seal
from collection.models import (
    Bay,
    Building,
    CarNotes,
    Climate,
    ClimateMonth,
    Membership,
    Operator,
    Organisation,
    Owner,
    Person,
    Site,
    SiteNotes,
    Vehicle,
)

TODAY = date(2026, 11, 25)
# a cool temperate year: mean, daily minimum, daily maximum °C, relative humidity %
MONTHS = [
    (2, -1, 5, 86),
    (3, -1, 6, 82),
    (5, 1, 9, 78),
    (8, 3, 13, 73),
    (12, 7, 17, 72),
    (15, 10, 20, 73),
    (17, 12, 22, 74),
    (17, 12, 22, 76),
    (14, 9, 18, 79),
    (10, 6, 14, 83),
    (6, 3, 9, 86),
    (3, 0, 6, 87),
]


def make_climate(organisation, name="Hollin valley"):
    climate = Climate.objects.create(organisation=organisation, name=name)
    ClimateMonth.objects.bulk_create(
        ClimateMonth(climate=climate, month=i, mean_c=m, min_c=low, max_c=high, humidity_pct=rh)
        for i, (m, low, high, rh) in enumerate(MONTHS, 1)
    )
    return climate


def make_barn(name):
    organisation = Organisation.objects.create(name=name)
    site = Site.objects.create(
        organisation=organisation,
        name="Hollin",
        time_zone="Europe/London",
        climate=make_climate(organisation),
    )
    building = Building.objects.create(site=site, name="Long shed", shelter="enclosed", walk_order=1)
    for place in range(1, 4):
        Bay.objects.create(
            building=building, row="A", place=place, power_outlet=place < 3, exhaust_extraction=place == 1
        )
    return organisation


def make_person(email, organisation=None, role=None, **extra):
    person = Person.objects.create_user(email, "long-enough-pass", name=email.split("@")[0].title(), **extra)
    if organisation:
        Membership.objects.create(person=person, organisation=organisation, role=role)
    return person


def make_operator(email, organisation=None, role=None):
    person = make_person(email, organisation, role)
    Operator.objects.create(person=person, given_at=datetime(2026, 1, 1, tzinfo=UTC))
    return person


def write_car_notes(car, keys_at="", alarm=""):
    """As a manager leaves them at the site where the car stands now."""
    site = car.bay.building.site if car.bay else None
    sealed = seal(f"car {car.pk}", {"keys_at": keys_at, "alarm": alarm})
    return CarNotes.objects.create(vehicle=car, site=site, sealed=sealed)


def write_site_notes(site, address="", way_in="", alarm=""):
    sealed = seal(f"site {site.pk}", {"address": address, "way_in": way_in, "alarm": alarm})
    return SiteNotes.objects.create(site=site, sealed=sealed)


def make_car(organisation, owner, bay=None, **values):
    facts = {
        "marque": "Wendlow",
        "model": "Twelve",
        "year": 1962,
        "fuel_system": "carburettor",
        "system_volts": 12,
        "tank_litres": 45,
        "stored_since": date(2026, 3, 1),
    } | values
    return Vehicle.objects.create(organisation=organisation, owner=owner, bay=bay, **facts)


@pytest.fixture
def barn(db):
    return make_barn("Hollin Barn")


@pytest.fixture
def other_barn(db):
    return make_barn("Tarn Sheds")


@pytest.fixture
def manager(barn):
    return make_person("manager@hollin.example", barn, "manager")


@pytest.fixture
def keeper(barn):
    """Staff, who may ask for the keys of every site of the barn."""
    person = make_person("keeper@hollin.example", barn, "staff")
    person.memberships.get().sites.set(barn.sites.all())
    return person


@pytest.fixture
def operator(db):
    """Runs the installation, and is a member of nothing."""
    return make_operator("operator@machine.example")


@pytest.fixture
def viewer(barn):
    return make_person("viewer@hollin.example", barn, "viewer")


@pytest.fixture
def owner(barn):
    """Signs in as owner; ``car`` is theirs."""
    return make_person("owner@hollin.example", barn, "owner")


@pytest.fixture
def outsider(other_barn):
    return make_person("manager@tarn.example", other_barn, "manager")


@pytest.fixture
def stranger(db):
    return make_person("nobody@nowhere.example")


@pytest.fixture
def bays(barn):
    return list(Bay.objects.filter(building__site__organisation=barn))


@pytest.fixture
def yard(bays):
    """A bay in the open, at the same site."""
    yard = Building.objects.create(site=bays[0].building.site, name="Yard", shelter="open")
    return yard.bays.create(row="Y", place=1)


@pytest.fixture
def car(barn, owner, bays):
    theirs = Owner.objects.create(organisation=barn, name="Ada Wren", person=owner)
    return make_car(barn, theirs, bays[0])


@pytest.fixture
def neighbour_car(barn, bays):
    """In the same barn, of another owner."""
    other = Owner.objects.create(organisation=barn, name="Bram Toller")
    return make_car(barn, other, bays[1], model="Sixteen", year=1971)


@pytest.fixture
def foreign_car(other_barn):
    other = Owner.objects.create(organisation=other_barn, name="Cleo Marsh")
    return make_car(other_barn, other, model="Nine", year=1955)


@pytest.fixture
def client_as(db):
    def sign_in(person):
        client = Client()
        client.force_login(person)
        return client

    return sign_in
