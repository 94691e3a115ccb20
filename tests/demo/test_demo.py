"""The demo barn: the same for everyone, true by our own rules, and worth looking at."""

from datetime import UTC, datetime, timedelta

import pytest
from django.db import transaction

from collection import demo
from collection.care.queries.care import open_tags
from collection.care.queries.record import recorded_values
from collection.chain.replay import replay
from collection.chain.verify import verify
from collection.demo.habits import HABITS
from collection.demo.tables import read
from collection.life.core import choices
from collection.models import (
    Battery,
    CareKind,
    Entry,
    FluidKind,
    ForecastRun,
    Membership,
    Organisation,
    Person,
    Reading,
    Vehicle,
)
from collection.proof.actions import export_history
from collection.proof.queries import history_facts

NOW = datetime(2026, 11, 25, 9, 30, tzinfo=UTC)


@pytest.fixture(scope="module")
def built(django_db_setup, django_db_blocker):
    """The barn, built once: each test begins with it as it was built, whatever another did to it."""
    with django_db_blocker.unblock(), transaction.atomic():
        yield demo.build(NOW).pk
        transaction.set_rollback(True)


@pytest.fixture
def kaldmere(built, db):
    return Organisation.objects.get(pk=built)


def test_every_duty_of_every_car_is_computed_without_error(kaldmere):
    run = ForecastRun.objects.get(organisation=kaldmere)
    assert run.errors == []
    assert run.cars == Vehicle.objects.count() == 41
    assert run.trigger == "nightly"


def test_keys_in_the_tables_are_those_of_the_core():
    kit, cars = read("kit"), read("cars")
    keys = {name: {key for key, _ in choices.fluid_types(name)} for name in FluidKind.values}
    for row in kit:
        assert row["chemistry"] in {key for key, _ in choices.chemistries()}
        assert row["fuel"] in {key for key, _ in choices.fuel_grades()}
        for fluid, types in keys.items():
            assert row[fluid] in types | {""}
    assert {row["habit"] for row in cars} <= set(HABITS)
    assert len({row["bay"] for row in cars}) == len(cars)
    assert {row["registration"] for row in kit} == {row["registration"] for row in cars} - {""}


def test_every_record_would_pass_the_checks_of_its_own_model(kaldmere):
    for model in (Vehicle, Battery, Person, Membership):
        for record_ in model.objects.all():
            record_.full_clean(exclude=["password"] if model is Person else None)


def test_moves_in_the_log_end_where_the_cars_stand(kaldmere):
    moves = Entry.objects.filter(kind=CareKind.MOVED, details__wheels_only=False).order_by("done_at")
    last = {move.vehicle: move.details["to_bay"] for move in moves.select_related("vehicle")}
    assert last
    assert all(car.bay_id == bay for car, bay in last.items())


def test_nothing_lies_in_the_future_and_nothing_is_recorded_before_it_was_done(kaldmere):
    for entry in Entry.objects.all():
        assert entry.done_at <= entry.recorded_at <= NOW
    assert Entry.objects.filter(done_at__lt=NOW - timedelta(days=700)).exists()


def test_the_two_years_are_not_tidy(kaldmere):
    log = Entry.objects.all()
    late = [entry for entry in log if entry.recorded_at - entry.done_at > timedelta(days=1)]
    assert len(late) > 50, "sheets typed up days later"
    assert log.filter(kind=CareKind.CHARGE, details__completed=False).exists()
    assert log.filter(kind=CareKind.NOT_DONE).count() >= 6
    assert log.filter(kind=CareKind.WITHDRAWN).exists()
    assert log.exclude(kind=CareKind.WITHDRAWN).filter(corrects__isnull=False).exists()
    assert log.filter(kind=CareKind.MAINTAINER, details__state="lost_power").count() == 2
    assert open_tags(Vehicle.objects.all()).count() == 4
    assert Battery.objects.filter(removed_on__isnull=False).exists()
    assert Reading.objects.filter(quantity="specific_gravity").exists()


def test_no_car_is_run_while_a_tag_forbids_it(kaldmere):
    for tag in open_tags(Vehicle.objects.all()):
        assert not tag.vehicle.entries.filter(kind=CareKind.RUN_UP, done_at__gt=tag.done_at).exists()


def test_building_knows_its_own_database_from_another(kaldmere):
    assert demo.is_loaded()
    assert demo.is_only_the_demo()
    kaldmere.name = "Somebody else's barn"
    kaldmere.save()
    assert not demo.is_loaded()
    assert not demo.is_only_the_demo()


def test_the_record_of_every_car_is_what_its_entries_tell(kaldmere):
    cars = Vehicle.objects.filter(organisation=kaldmere)
    values = recorded_values([car.pk for car in cars])
    for car in cars:
        assert replay(history_facts(car, now=NOW)["entries"]) == values[car.pk], car
        assert verify(export_history(car, now=NOW)).faults == [], car
