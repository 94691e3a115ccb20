"""Build, photograph, how a car was put away, its handbook: dated, in its chain, compared with its rows."""

from datetime import timedelta

import pytest
import time_machine

from collection.car_page.actions import show_by
from collection.care.actions.attachments import attach
from collection.care.actions.chain import chain_missing
from collection.care.actions.record import Edit, open_records
from collection.care.attachments import cleaned
from collection.care.queries.record import CAR, NAMED, PARTS, recorded_values
from collection.cars.actions.vehicles import save_vehicle
from collection.cars.record_words import record_lines
from collection.chain.replay import replay
from collection.chain.verify import verify
from collection.handover.queries import record as handed
from collection.models import HandbookValue, RecommissionCase, RecordEntry, Vehicle
from collection.proof.actions import export_history
from collection.proof.queries import history_facts
from collection.recommission.actions.settings import save_case, save_handbook
from collection.recommission.core.plan import build_answered, build_recommissioning
from collection.recommission.queries import recommissioning_record
from collection.web.units import edge
from scheduler.vocabulary.machine import BUILD, answer_of
from tests.barn import TODAY
from tests.care.test_attachments import photograph
from tests.logbook import NOON, ago, write


@pytest.fixture(autouse=True)
def _today(settings, tmp_path):
    settings.DATA_DIR, settings.MEDIA_ROOT = tmp_path, tmp_path / "media"
    with time_machine.travel(NOON, tick=False):
        yield


@pytest.fixture
def opened(car, keeper):
    open_records([car], Edit(keeper, NOON - timedelta(days=200)))
    return Vehicle.objects.get(pk=car.pk)


@pytest.fixture
def picture(opened, keeper):
    entry = write(opened, keeper, "inspected", 3, details={"ok": True})
    attach(entry, [cleaned("tyre.png", photograph(kind="PNG"))])
    chain_missing()
    return entry.attachments.get()


FACTS = {
    "earth": {"earth": "positive"},
    "generator": {"generator": "dynamo"},
    "ignition": {"ignition": "points"},
    "cooling": {"cooling": "air"},
    "gearbox": {"gearbox": "automatic"},
    "cam": {"cam": "belt"},
    "gas": {"gas": "gas_fitted"},
    "steering": {"steering": "power"},
    "suspension": {"suspension": "hydropneumatic"},
    "body": {"body": "saloon"},
}


def put_away(car, edit, **values):
    case = RecommissionCase.objects.filter(vehicle=car).first() or RecommissionCase(vehicle=car)
    for name, value in values.items():
        setattr(case, name, value)
    save_case(case=case, edit=edit)


def by_its_book(car, edit, **values):
    row = HandbookValue(vehicle=car, check_key="fuel_pressure", **values)
    save_handbook(vehicle=car, values=[row], edit=edit)


def latest(car):
    return RecordEntry.objects.filter(vehicle=car).last()


def faults(car):
    return [fault.text for fault in verify(export_history(car, now=NOON)).faults]


def recorded_changes(car):
    return " ".join(change for line in record_lines(car, edge("metric")) for change in line.changes)


def test_every_column_that_describes_a_car_or_what_hangs_on_it_is_in_its_record_or_known_not_to_be():
    """A new column must be dated and chained, or be named here with its reason."""
    beside = {
        "id", "organisation", "owner", "registration", "notes",  # lead to persons: to be forgotten
    }  # fmt: skip
    covered = {NAMED.get(name, name) for name in CAR}
    assert {field.name for field in Vehicle._meta.concrete_fields} - beside == covered
    keys = {"id", "vehicle"}
    of_parts = {
        "rule": {"by", "since", "kind"},  # who and when stand in the entry itself
        "own": {"by", "dated_at", "begun", "note"},
    }
    for part, (model, key, names) in PARTS.items():
        columns = {field.name for field in model._meta.concrete_fields} - keys - of_parts.get(part, set())
        assert columns - {key} == set(names) - {key}, part


@pytest.mark.parametrize("name", FACTS)
def test_what_a_car_is_built_with_is_dated_chained_and_compared(opened, keeper, name):
    for column, value in FACTS[name].items():
        setattr(opened, column, value)
    save_vehicle(vehicle=opened, edit=Edit(keeper, NOON, since=ago(30)), today=TODAY)
    assert latest(opened).facts[name] == {"was": None, "now": FACTS[name][name], "since": str(ago(30))}
    assert faults(opened) == []
    Vehicle.objects.filter(pk=opened.pk).update(**{name: ""})
    assert [name in text for text in faults(opened)] == [True]


def test_the_photograph_shown_stands_in_the_chain_by_its_digest(opened, keeper, picture):
    show_by(vehicle=opened, photograph=picture, edit=Edit(keeper, NOON))
    assert latest(opened).facts["photograph"]["now"] == picture.digest
    assert "photograph shown written down: one of its log" in recorded_changes(opened)
    Vehicle.objects.filter(pk=opened.pk).update(photograph=None)
    assert any("photograph" in text for text in faults(opened))


def test_how_it_was_put_away_and_its_handbook_stand_in_the_chain_and_a_change_beside_is_named(opened, keeper):
    put_away(opened, Edit(keeper, NOON), known_preparation=True, conditions=["handbrake on"])
    by_its_book(opened, Edit(keeper, NOON), low=17.0, high=24.0, source="driver's handbook, page 41")
    facts = {name: fact["now"] for entry in opened.record_entries.all() for name, fact in entry.facts.items()}
    assert facts["put_away.known_preparation"] is True
    assert facts["put_away.conditions"] == "handbrake on"
    assert facts["handbook.fuel_pressure.low"] == 17.0
    assert "put away: conditions written down: handbrake on" in recorded_changes(opened)
    assert replay(history_facts(opened, now=NOON)["entries"]) == recorded_values([opened.pk])[opened.pk]
    assert faults(opened) == []
    RecommissionCase.objects.update(conditions=["handbrake on", "windows open"])
    HandbookValue.objects.update(high=40.0)
    texts = faults(opened)
    assert [word in text for word, text in zip(("handbook", "put away"), texts, strict=True)] == [True, True]


def test_what_the_record_says_of_its_build_the_plan_does_not_ask(opened, keeper):
    opened.regime = "dormant"
    for part in BUILD:
        setattr(opened, part.code, part.choices[0].code)
    opened.save()
    machine = build_recommissioning(recommissioning_record(opened), today=TODAY).plan.machine
    assert {part.code: getattr(machine, part.code) for part in BUILD} == {
        part.code: answer_of(part.choices[0].code) for part in BUILD
    }


def test_what_was_answered_at_the_car_is_kept_for_its_record_where_that_is_empty(opened, keeper):
    opened.gearbox = "manual"
    for part in BUILD:
        details = {"check": f"is_{part.code}", "answer": part.answers[-1]}
        write(opened, keeper, "waking_result", 5, details=details)
    answers = build_answered(opened, list(opened.entries.filter(kind="waking_result")))
    assert answers == {part.code: part.choices[-1].code for part in BUILD if part.code != "gearbox"}


def test_a_car_goes_to_another_keeper_with_all_of_it(opened, keeper):
    put_away(opened, Edit(keeper, NOON), damp="dry")
    by_its_book(opened, Edit(keeper, NOON), low=1.0, high=2.0, source="Book")
    facts = handed.record_of(opened)
    assert facts["put_away"] == [{"known_preparation": False, "damp": "dry", "conditions": []}]
    assert [row["check_key"] for row in facts["handbook"]] == ["fuel_pressure"]
    assert {part.code for part in BUILD} <= facts["car"].keys()
