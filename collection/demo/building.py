"""Builds the demo barn once, in one transaction, and recomputes its dates."""

from collections.abc import Callable
from datetime import datetime
from zoneinfo import ZoneInfo

from django.db import DatabaseError, transaction

from collection.care.actions.record import Edit, open_records
from collection.care.actions.settings import open_settings
from collection.demo import habits, loggers, own_duties, recommissioning, staff, stories
from collection.demo.cars import add_car
from collection.demo.diary import Diary
from collection.demo.people import ORGANISATION, PEOPLE, add_people
from collection.demo.places import TIME_ZONE, add_places
from collection.demo.private import add_private
from collection.demo.rules import add_rules
from collection.demo.sharing import share
from collection.demo.tables import CarLine, car_lines
from collection.life.queries import NIGHTLY
from collection.life.refresh import refresh_organisation
from collection.models import Basis, Organisation, Person, Vehicle
from collection.proof.actions import sign_statement

A_FEW = 10  # cars between two words of how far it is


def is_loaded() -> bool:
    """Whether the demo barn stands in this database."""
    return Organisation.objects.filter(name=ORGANISATION).exists()


def is_only_the_demo() -> bool:
    """Whether this database holds the demo barn and nobody else's records; an empty one does too."""
    try:
        others = Organisation.objects.exclude(name=ORGANISATION).exists()
        people = set(Person.objects.values_list("email", flat=True))
    except DatabaseError:
        return False
    invented = {person.email for person in PEOPLE}
    return not others and (invented <= people or not people)


def build(now: datetime, tell: Callable[[str], None] = lambda _line: None) -> Organisation:
    """The whole barn, its two years ending at ``now``; ``tell`` hears how far it is."""
    with transaction.atomic():
        organisation = _records(now, tell)
        sign_statement(organisation=organisation, now=now)
    tell("Working out what is due at each car")
    today = now.astimezone(ZoneInfo(TIME_ZONE)).date()
    refresh_organisation(organisation.pk, today=today, trigger=NIGHTLY)
    return organisation


def _records(now: datetime, tell: Callable[[str], None]) -> Organisation:
    organisation = Organisation.objects.create(name=ORGANISATION)
    cast = add_people(organisation, now)
    site, bays = add_places(organisation)
    diary = Diary(cast.keepers, ZoneInfo(TIME_ZONE), now)
    cars: dict[str, Vehicle] = {}
    lines = car_lines()
    for number, line in enumerate(lines, 1):
        if number % A_FEW == 1:
            tell(f"Two years of care, car {number} of {len(lines)}")
        car = add_car(line, organisation, cast.owners, bays[line.car["bay"]], diary.today)
        cars[line.key] = car
        _routine(line, car, diary)
    diary.begin("stories")
    scene = stories.Scene(diary, cars, bays, cast.manager)
    stories.tell(scene)
    recommissioning.tell(diary, cars[recommissioning.CAR])
    stories.show_the_rest(scene)
    own_duties.add_own_duties(cars, diary)
    tell("Signing and chaining every entry")
    recommissioning.find(diary, cars[recommissioning.CAR])
    diary.store()
    staff.add_hands(site, cast, diary.today)
    for thing in (organisation, site):
        open_settings(thing, Edit(cast.manager, now))
    add_private(organisation, site, cars, cast.manager, now)
    tell("Reading the loggers' files")
    loggers.add_loggers(site, cars["KM 1091"], cast.manager, diary)
    share(organisation, cars, cast.manager, diary)
    open_records(list(cars.values()), Edit(cast.manager, now, basis=Basis.DOCUMENT))
    add_rules(organisation, cars, cast.manager, now, diary.today)
    return organisation


def _routine(line: CarLine, car: Vehicle, diary: Diary) -> None:
    battery = car.batteries.filter(removed_on__isnull=True).first()
    if battery is None:
        return
    diary.begin(line.key)
    placard = float(line.kit["placard_kpa"])
    habits.walk(habits.Round(car, battery, placard, habits.HABITS[line.car["habit"]], diary))
