"""The demo barn: the same for everyone, true by our own rules, and worth looking at."""

from collections import Counter
from datetime import UTC, datetime, timedelta

import pytest
from django.db import transaction
from django.urls import reverse
from django.utils import timezone

from collection import demo
from collection.care.actions.care import record
from collection.care.actions.moves import FILLED_IN
from collection.care.draft import Draft, Measured
from collection.care.queries.care import open_tags
from collection.care.queries.record import recorded_values
from collection.chain.replay import replay
from collection.chain.verify import verify
from collection.demo.diary import Diary
from collection.demo.habits import HABITS
from collection.demo.people import PEOPLE, add_people
from collection.demo.tables import read
from collection.life.core import choices
from collection.life.duties import STATE_ORDER, state_of
from collection.models import (
    Battery,
    CareKind,
    DutyRow,
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


@pytest.fixture
def kaldmere(db):
    return demo.build(NOW)


def test_the_barn_is_the_same_each_time(db):
    told = []

    def facts():
        demo.build(NOW, told.append)
        found = list(Entry.objects.order_by("pk").values_list("pk", "kind", "done_at", "details", "by__name"))
        columns = ("duty", "due", "limit")
        return found, list(DutyRow.objects.order_by(*columns).values_list(*columns))

    with transaction.atomic():
        first = facts()
        transaction.set_rollback(True)
    entries, duties = facts()
    same = [(pk, kind, at, by) for pk, kind, at, _, by in first[0]]
    assert same == [(pk, kind, at, by) for pk, kind, at, _, by in entries]
    assert first[1] == duties
    assert told[: len(told) // 2] == told[len(told) // 2 :]
    assert "Two years of care, car 41 of 41" in told
    assert told[-1] == "Working out what is due at each car"


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


def test_every_entry_would_have_been_accepted_from_a_keeper_at_the_time(db, monkeypatch):
    """Instead of storing in bulk, send each entry through the action that pages use."""
    sent = Counter()

    def store(diary):
        stored = {}
        readings = {}
        for reading in diary.readings:
            readings.setdefault(reading.entry_id, []).append(
                Measured(
                    reading.quantity,
                    reading.value,
                    reading.position,
                    reading.temperature_c,
                    reading.rest_hours,
                )
            )
        for entry in sorted(diary.entries, key=lambda entry: entry.recorded_at):
            details = {key: it for key, it in entry.details.items() if key not in FILLED_IN}
            for names in details.keys() & {"opened", "answers"}:  # an entry that names an earlier one
                details[names] = str(stored[details[names]].pk)
            draft = Draft(
                entry.vehicle,
                entry.kind,
                entry.done_at,
                details,
                tuple(readings.get(entry.pk, ())),
                entry.note,
                stored[str(entry.corrects_id)] if entry.corrects_id else None,
            )
            logged = record(draft, by=entry.by, idempotency_key=entry.idempotency_key, now=entry.recorded_at)
            stored[str(entry.pk)] = logged.entry
            sent[logged.entry.kind] += logged.created

    monkeypatch.setattr(Diary, "store", store)
    demo.build(NOW)
    assert sum(sent.values()) == Entry.objects.count() > 2000
    assert set(sent) == set(CareKind.values), "the demo shows every kind of care"


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


@pytest.mark.parametrize("month", [1, 4, 7, 10])
def test_at_any_season_there_is_work_and_most_is_well(db, month):
    now = datetime(2027, month, 12, 9, tzinfo=UTC)
    demo.build(now)
    states = Counter(state_of(row, now.date()) for row in DutyRow.objects.all())
    total = sum(states.values())
    assert set(states) == set(STATE_ORDER)
    assert states["later"] > 0.35 * total
    assert 0.02 * total < states["act_now"] < 0.3 * total


def test_building_knows_its_own_database_from_another(kaldmere):
    assert demo.is_loaded()
    assert demo.is_only_the_demo()
    kaldmere.name = "Somebody else's barn"
    kaldmere.save()
    assert not demo.is_loaded()
    assert not demo.is_only_the_demo()


@pytest.mark.parametrize("person", PEOPLE, ids=lambda person: person.email)
def test_every_demo_person_signs_in_with_the_printed_password(db, client, person):
    add_people(Organisation.objects.create(name=demo.ORGANISATION), timezone.now())
    answer = client.post(
        reverse("sign_in"), {"login": person.email, "password": person.password}, follow=True
    )
    assert answer.status_code == 200
    assert answer.context["request"].access.role == person.role


def test_the_record_of_every_car_is_what_its_entries_tell(kaldmere):
    cars = Vehicle.objects.filter(organisation=kaldmere)
    values = recorded_values([car.pk for car in cars])
    for car in cars:
        assert replay(history_facts(car, now=NOW)["entries"]) == values[car.pk], car
        assert verify(export_history(car, now=NOW)).faults == [], car
