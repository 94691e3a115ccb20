"""Organisations with cars, made in bulk and the same each time, and what their cars' dates are."""

import random
from datetime import UTC, datetime, time, timedelta

from django.db import transaction

from collection.models import (
    Battery,
    DutyRow,
    Entry,
    Fluid,
    Fuel,
    LastUse,
    Owner,
    Reading,
    Tyre,
    Vehicle,
)
from tests.barn import make_barn, make_person

CHEMISTRIES, GRADES = ("flooded_antimony", "calcium", "agm", ""), ("petrol_e5", "petrol_e10", "")
KINDS, CORNERS = (
    ("engine_oil", "coolant", "brake_fluid"),
    ("front_left", "front_right", "rear_left", "rear_right"),
)
BATCH = 2000


@transaction.atomic
def make_organisation(name, cars, *, today, entries=0):
    """An organisation with a keeper, its cars varied by a chance of its own, and entries of two years."""
    barn, chance = make_barn(name), random.Random(name)  # noqa: S311 - a test's chance
    make_person(
        f"keeper@{name.lower().replace(' ', '-')}.example", barn, "staff"
    ).memberships.get().sites.set(barn.sites.all())
    owner = Owner.objects.create(organisation=barn, name="Ada Wren")

    def ago(days):
        return today - timedelta(days=chance.randint(1, days))

    made = Vehicle.objects.bulk_create(
        [
            Vehicle(
                organisation=barn,
                owner=owner,
                marque="Wendlow",
                model=f"No. {n}",
                year=chance.randint(1925, 1995),
                fuel_system=chance.choice(("carburettor", "mechanical_injection", "diesel", "")),
                system_volts=chance.choice((12, 12, None)),
                tank_litres=chance.randint(30, 90),
                stored_since=ago(900),
            )
            for n in range(cars)
        ],
        batch_size=BATCH,
    )
    _parts(made, chance, ago)
    if entries:
        _log(barn, made, entries, today, chance)
    return barn


def _parts(cars, chance, ago):
    Battery.objects.bulk_create(
        [
            Battery(
                vehicle=car,
                chemistry=chance.choice(CHEMISTRIES),
                capacity_ah=chance.randint(40, 100),
                volts=12,
                installed_on=ago(1500),
            )
            for car in cars
        ],
        batch_size=BATCH,
    )
    Fuel.objects.bulk_create(
        [
            Fuel(vehicle=car, grade=chance.choice(GRADES), litres=chance.randint(5, 30), filled_on=ago(400))
            for car in cars
        ],
        batch_size=BATCH,
    )
    Fluid.objects.bulk_create(
        [Fluid(vehicle=car, kind=kind, changed_on=ago(1200)) for car in cars for kind in KINDS],
        batch_size=BATCH,
    )
    Tyre.objects.bulk_create(
        [
            Tyre(
                vehicle=car,
                position=place,
                date_code=f"{chance.randint(1, 52):02}{chance.randint(8, 24):02}",
                placard_kpa=200,
            )
            for car in cars
            for place in CORNERS
        ],
        batch_size=BATCH,
    )
    LastUse.objects.bulk_create(
        [LastUse(vehicle=car, event="full_warm", on=ago(200), basis="owner") for car in cars],
        batch_size=BATCH,
    )


def _log(barn, cars, entries, today, chance):
    """The care log as a bulk loader leaves it; a reading with each."""
    keeper = barn.memberships.get().person
    noon = datetime.combine(today, time(12), UTC)
    rows = [
        Entry(
            vehicle=car,
            kind="charge",
            done_at=noon - timedelta(days=chance.randint(2, 730)),
            recorded_at=noon - timedelta(days=1),
            by=keeper,
            details={"completed": True},
            idempotency_key=f"bulk-{number}",
        )
        for car in cars
        for number in range(entries)
    ]
    Entry.objects.bulk_create(rows, batch_size=BATCH)
    Reading.objects.bulk_create(
        [
            Reading(
                entry=row, quantity="rested_volts", value=round(chance.uniform(12.0, 12.7), 2), rest_hours=12
            )
            for row in rows
        ],
        batch_size=BATCH,
    )


def dates():
    """Every computed row but for when and by whom it was computed."""
    facts = (
        "vehicle",
        "duty",
        "early",
        "due",
        "late",
        "limit",
        "hold",
        "assumed",
        "computed_for",
        "models_version",
        "fingerprint",
    )
    return set(DutyRow.objects.values_list(*facts))
