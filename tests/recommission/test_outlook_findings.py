"""What speaks for a part of a car: a look, the step that proves it, a stage that is through, inspections."""

import pytest
import time_machine

from collection.recommission.core.outlook import findings_of
from collection.recommission.queries import recommissioning_record
from scheduler.condition.outlook import Seen
from scheduler.recommission.stages.gates import CheckState, StageState, State
from scheduler.recommission.stages.results import Result
from tests.logbook import NOON, ago, write


@pytest.fixture(autouse=True)
def _today():
    with time_machine.travel(NOON, tick=False):
        yield


@pytest.fixture
def sleeper(car):
    car.regime, car.stored_since = "dormant", ago(19)
    car.save()
    return car


def stage(key, state, *checks):
    return StageState(key, "Brakes", state, checks, ())


def check(key, state, days_ago=4):
    at = NOON.replace(day=NOON.day - days_ago)
    return CheckState(key, state, Result(key, at, "freely"), "", "")


def seen_of(car, *states):
    findings = findings_of(recommissioning_record(car), states, on_time=True)
    return {one.system: one.seen for one in findings}


def test_parts_that_no_step_proves_are_good_once_their_whole_stage_is_through(sleeper):
    through = stage("R11", State.PASS, check("wheels_free", State.PASS), check("pedal", State.PASS))
    assert seen_of(sleeper, through) == dict.fromkeys(("shoes", "brake_hydraulics", "brake_hose"), Seen.GOOD)


def test_a_stage_that_asks_for_no_step_proves_nothing(sleeper):
    assert seen_of(sleeper, stage("R11", State.PASS)) == {}


def test_a_caution_proves_neither_good_nor_bad(sleeper):
    assert seen_of(sleeper, stage("R12", State.CAUTION, check("tyre_condition", State.CAUTION))) == {}


def test_what_an_inspection_found_counts_until_a_later_look(sleeper, keeper):
    write(sleeper, keeper, "inspected", 6, details={"ok": False, "found": ["handbrake stuck"]})
    assert seen_of(sleeper) == {"shoes": Seen.FAULTY}
    write(sleeper, keeper, "system_seen", 3, details={"system": "shoes", "seen": "good", "text": "freed"})
    assert seen_of(sleeper) == {"shoes": Seen.GOOD}
    write(sleeper, keeper, "inspected", 1, details={"ok": False, "found": ["handbrake stuck"]})
    findings = findings_of(recommissioning_record(sleeper), (), on_time=True)
    assert Seen.FAULTY in {one.seen for one in findings if one.system == "shoes"}


def test_a_clean_inspection_speaks_only_while_the_next_is_not_overdue(sleeper, keeper):
    write(sleeper, keeper, "inspected", 6, details={"ok": True})
    assert seen_of(sleeper)["wiring"] is Seen.GOOD
    assert not list(findings_of(recommissioning_record(sleeper), (), on_time=False))
