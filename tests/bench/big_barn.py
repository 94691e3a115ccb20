"""One organisation of many cars with years of care, written in bulk for the bench under load.

Everything is drawn by one chance, so that the same day gives the same barn. The log is chained as
the site chains it: a car of it can be verified like any other.
"""

import uuid
from datetime import UTC, datetime, time, timedelta
from itertools import count

import numpy as np
from django.db import transaction

from collection.chain.links import NOTHING_BEFORE, car_facts, entry_facts, next_link
from collection.life.duties import DUTY_TITLES
from collection.life.refresh import refresh_organisation
from collection.models import (
    Battery,
    Bay,
    Building,
    Chain,
    Climate,
    ClimateMonth,
    Entry,
    Equipment,
    EquipmentKind,
    Fluid,
    FluidKind,
    Fuel,
    Hand,
    LastEvent,
    LastUse,
    Link,
    Membership,
    OpeningHours,
    Organisation,
    Owner,
    Person,
    Pseudonym,
    Reading,
    Site,
    Threshold,
    Tyre,
    TyrePosition,
    Vehicle,
)
from tests.barn import MONTHS

NAME, PASSWORD = "Great Fell Storage", "great-fell-bench"
SITES, BUILDINGS_A_SITE, STAFF = 20, 4, 50
SHELTERS = ("enclosed", "heated", "covered", "open")
SEEN_SELDOM = {"inspect_open_days": 60, "inspect_covered_days": 90}  # a car is seen to once a month
YEARS, ENTRIES_A_YEAR = 3, 12
BATCH = 250  # cars written at a time
MARQUES = ("Wendlow", "Arkell", "Tarrant", "Ostrey", "Brask", "Kelham", "Vinter", "Solway")
CHEMISTRIES = ("flooded_antimony", "calcium", "agm", "gel")
FUELS = ("petrol_e0", "petrol_e5", "petrol_e10")
# what is done, and how often of each dozen
KINDS = ("inspected", "charge", "run_up", "tyre_pressures", "battery_reading", "note")
SHARES = (0.42, 0.21, 0.15, 0.12, 0.07, 0.03)
FOUND = ("dust on the cover", "a drip under the gearbox", "cobwebs in the grille", "stiff handbrake")
CORNERS = [position for position in TyrePosition if position != TyrePosition.SPARE]


def staff_email(number):
    return f"hand{number}@greatfell.example"


def build(cars, today, say, sites=SITES):
    """The organisation with ``cars`` cars, its log ending on ``today``; its duties are computed."""
    random = np.random.default_rng(1885)
    organisation = Organisation.objects.create(name=NAME, money="£")
    staff = _people(organisation)
    Threshold.objects.bulk_create(
        Threshold(organisation=organisation, name=name, value=value) for name, value in SEEN_SELDOM.items()
    )
    bays = _places(organisation, cars, sites, staff, random)
    owners = Owner.objects.bulk_create(
        Owner(organisation=organisation, name=f"Owner {n:05d}") for n in range(max(cars // 4, 1))
    )
    tokens = {p.pk: str(Pseudonym.objects.create(person=p).token) for p in staff}
    for start in range(0, cars, BATCH):
        with transaction.atomic():
            some = bays[start : start + BATCH]
            made = _cars(organisation, owners, some, today, random, start)
            _log(made, staff, tokens, today, random)
        say(f"{min(start + BATCH, cars)} cars written")
    say("computing every car's dates")
    run = refresh_organisation(organisation.pk, today=today, trigger="bench")
    say(f"computed in {run.seconds:.0f} s, {len(run.errors)} faults")
    return organisation


def _people(organisation):
    """A manager, and staff spread over the sites; one password, hashed once."""
    first = Person.objects.create_user("manager@greatfell.example", PASSWORD, name="Manager")
    others = Person.objects.bulk_create(
        Person(email=staff_email(n), name=f"Hand {n:02d}", password=first.password) for n in range(STAFF)
    )
    roles = ["manager", *["staff"] * STAFF]
    people = [first, *others]
    Membership.objects.bulk_create(
        Membership(person=person, organisation=organisation, role=role)
        for person, role in zip(people, roles, strict=True)
    )
    return others


def _places(organisation, cars, sites, staff, random):
    climate = Climate.objects.create(organisation=organisation, name="Great Fell")
    ClimateMonth.objects.bulk_create(
        ClimateMonth(climate=climate, month=i, mean_c=m, min_c=low, max_c=high, humidity_pct=rh)
        for i, (m, low, high, rh) in enumerate(MONTHS, 1)
    )
    bays, a_building = [], -(-cars // (sites * BUILDINGS_A_SITE))
    for number in range(sites):
        site = Site.objects.create(
            organisation=organisation, name=f"Site {number:02d}", time_zone="Europe/London", climate=climate
        )
        OpeningHours.objects.bulk_create(
            OpeningHours(site=site, weekday=day, opens=time(7, 30), closes=time(16, 30)) for day in range(6)
        )
        Equipment.objects.bulk_create(Equipment(site=site, kind=k, count=12) for k in EquipmentKind.values)
        hands = [staff[n] for n in range(number % len(staff), len(staff), sites)] or [staff[0]]
        Hand.objects.bulk_create(
            Hand(
                site=site,
                person=p,
                may=sorted(DUTY_TITLES),
                monday=420,
                tuesday=420,
                wednesday=420,
                thursday=420,
                friday=420,
            )
            for p in hands
        )
        for order in range(BUILDINGS_A_SITE):
            house = Building.objects.create(
                site=site,
                name=f"Shed {order + 1}",
                shelter=SHELTERS[order],
                walk_order=order + 1,
                heated_to_c=12 if SHELTERS[order] == "heated" else None,
            )
            bays += Bay.objects.bulk_create(
                Bay(
                    building=house,
                    row=chr(65 + place // 25),
                    place=place % 25 + 1,
                    power_outlet=place % 2 == 0,
                    exhaust_extraction=place % 5 == 0,
                )
                for place in range(a_building)
            )
    return bays[:cars]


def _cars(organisation, owners, bays, today, random, start):
    n = len(bays)
    years, tanks = random.integers(1925, 2005, n), random.integers(30, 80, n)
    stored = [today - timedelta(days=int(d)) for d in random.integers(YEARS * 365, YEARS * 500, n)]

    def ago(most):
        return today - timedelta(days=int(random.integers(1, most)))

    cars = Vehicle.objects.bulk_create(
        Vehicle(
            organisation=organisation,
            owner=owners[int(random.integers(len(owners)))],
            bay=bay,
            marque=MARQUES[i % len(MARQUES)],
            model=f"Model {(start + i) % 97}",
            year=int(years[i]),
            registration=f"GF {start + i:05d}",
            chassis_number=f"GF{start + i:07d}",
            fuel_system="carburettor",
            tank_litres=float(tanks[i]),
            tank_material="bare_steel",
            tank_venting="open",
            system_volts=12,
            stored_since=stored[i],
            on_stands=i % 3 == 0,
        )
        for i, bay in enumerate(bays)
    )
    Battery.objects.bulk_create(
        Battery(
            vehicle=car,
            chemistry=CHEMISTRIES[i % 4],
            capacity_ah=55,
            volts=12,
            installed_on=stored[i] - timedelta(days=300),
            drain_ma=float(random.integers(5, 40)),
            maintainer_since=stored[i] if i % 5 else None,
        )
        for i, car in enumerate(cars)
    )
    Fuel.objects.bulk_create(
        Fuel(
            vehicle=car,
            grade=FUELS[i % 3],
            litres=tanks[i] * 0.7,
            filled_on=ago(150),
            stabilised_on=ago(150),
            as_of=today - timedelta(days=1),
        )
        for i, car in enumerate(cars)
    )
    Fluid.objects.bulk_create(
        Fluid(vehicle=car, kind=kind, changed_on=ago(300)) for car in cars for kind in FluidKind.values
    )
    Tyre.objects.bulk_create(
        Tyre(vehicle=car, position=place, date_code="1018", placard_kpa=200)
        for car in cars
        for place in CORNERS
    )
    LastUse.objects.bulk_create(
        LastUse(vehicle=car, event=event, on=stored[i], basis="owner")
        for i, car in enumerate(cars)
        for event in LastEvent.values
    )
    return cars


def _log(cars, staff, tokens, today, random):
    """Years of entries for each car, with readings and links."""
    each = YEARS * ENTRIES_A_YEAR
    shape, end = (len(cars), each), datetime.combine(today, time(), tzinfo=UTC)
    step = YEARS * 365 / each
    days = (np.arange(each) + random.random(shape)) * step
    kinds = random.choice(len(KINDS), shape, p=SHARES)
    by, minute, draw = (
        random.integers(len(staff), size=shape),
        random.integers(480, 960, shape),
        random.random(shape),
    )
    late = random.choice([0, 0, 0, 1, 3], shape)
    entries, readings, links = [], [], []
    chains = Chain.objects.bulk_create(Chain(vehicle=car) for car in cars)
    for row, (car, chain) in enumerate(zip(cars, chains, strict=True)):
        facts, previous, number = car_facts(car), NOTHING_BEFORE, count(1)
        for slot in range(each):
            day = end - timedelta(days=YEARS * 365 - int(days[row, slot]))
            done = day - timedelta(days=1) + timedelta(minutes=int(minute[row, slot]))
            kind, person = KINDS[kinds[row, slot]], staff[by[row, slot]]
            details, measured, note = _said(kind, float(draw[row, slot]))
            entry = Entry(
                id=_uuid(random),
                vehicle=car,
                kind=kind,
                done_at=done,
                recorded_at=min(done + timedelta(days=int(late[row, slot]), minutes=9), end),
                by=person,
                details=details,
                note=note,
                idempotency_key=str(_uuid(random)),
            )
            mine = [
                Reading(entry=entry, quantity=q, value=v, position=p, temperature_c=t)
                for q, v, p, t in measured
            ]
            said = entry_facts(entry, by=tokens[person.pk], readings=mine)
            made = next_link(str(chain.pk), said, car=facts, seq=next(number), previous=previous)
            previous = made["digest"]
            entries.append(entry)
            readings += mine
            links.append(Link(chain=chain, **made | {"entry": entry}))
    Entry.objects.bulk_create(entries, batch_size=2000)
    Reading.objects.bulk_create(readings, batch_size=2000)
    Link.objects.bulk_create(links, batch_size=2000)


def _uuid(random):
    return uuid.UUID(bytes=random.bytes(16), version=4)


def _said(kind, draw):
    """Details, readings and note of one entry; ``draw`` from 0 to 1 decides."""
    volts = round(12.05 + 0.7 * draw, 2)
    match kind:
        case "inspected":
            found = [FOUND[int(draw * 100) % len(FOUND)]] if draw < 0.1 else []
            return {"ok": not found, "found": found}, [("surface_rh", round(55 + 30 * draw, 1), "", None)], ""
        case "charge":
            return (
                {"completed": draw > 0.03, "hours": round(4 + 12 * draw)},
                [("rested_volts", volts, "", 9.5)],
                "",
            )
        case "run_up":
            good = draw > 0.2
            details = {"minutes": 20 + round(20 * draw), "reached_temperature": good, "driven": good}
            return details, [("charging_volts", 13.9, "", None), ("oil_pressure", 300.0, "", None)], ""
        case "tyre_pressures":
            corner = [("tyre_pressure", round(180 + 30 * draw, 1), place.value, 11.5) for place in CORNERS]
            return {"topped_up": draw > 0.5}, corner, ""
        case "battery_reading":
            return {}, [("rested_volts", volts, "", 8.5)], ""
    return {}, [], "The owner came to look at the car."
