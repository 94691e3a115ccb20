"""Builds the demo barn once, in one transaction, and recomputes its dates."""

from datetime import datetime
from zoneinfo import ZoneInfo

from django.db import DatabaseError, transaction

from collection.care.actions.record import Edit, open_records
from collection.demo import habits, loggers, recommissioning, staff, stories
from collection.demo.cars import add_car
from collection.demo.diary import Diary
from collection.demo.own_duties import add_own_duties
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


def build(now: datetime) -> Organisation:
    """The whole barn, its two years ending at ``now``."""
    with transaction.atomic():
        organisation = _records(now)
        sign_statement(organisation=organisation, now=now)
    today = now.astimezone(ZoneInfo(TIME_ZONE)).date()
    refresh_organisation(organisation.pk, today=today, trigger=NIGHTLY)
    return organisation


def _records(now: datetime) -> Organisation:
    organisation = Organisation.objects.create(name=ORGANISATION)
    cast = add_people(organisation, now)
    site, bays = add_places(organisation)
    diary = Diary(cast.keepers, ZoneInfo(TIME_ZONE), now)
    cars: dict[str, Vehicle] = {}
    for line in car_lines():
        car = add_car(line, organisation, cast.owners, bays[line.car["bay"]], diary.today)
        cars[line.key] = car
        _routine(line, car, diary)
    diary.begin("stories")
    scene = stories.Scene(diary, cars, bays, cast.manager)
    stories.tell(scene)
    recommissioning.tell(diary, cars[recommissioning.CAR])
    stories.show_the_rest(scene)
    add_own_duties(cars, diary)
    diary.store()
    recommissioning.find(diary, cars[recommissioning.CAR])
    staff.add_hands(site, cast, diary.today)
    add_private(organisation, site, cars, cast.manager, now)
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
