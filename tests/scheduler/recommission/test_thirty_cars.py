"""Thirty invented cars walked to their end by a person who does what the plan asks next."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from scheduler.recommission.next_act import Kind, next_act
from scheduler.recommission.permissions import permissions
from scheduler.recommission.stages.acts import Act
from scheduler.recommission.stages.gates import State, open_tasks
from scheduler.recommission.stages.machine import KINDS, QUESTION, machine_of
from scheduler.recommission.stages.plan import dormancy, plan_for, settling
from scheduler.recommission.stages.results import Grade, Result, grade
from scheduler.recommission.stages.steps import Answer
from scheduler.recommission.tags import Permission
from tests.scheduler.worlds.long_stood_cars import CARS, ROAD, VOLTS

START = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)
MOST_STEPS = 200
PATIENCE = 5  # stops at one step after which its owner gives up


class Walk:
    """One car led through its plan; the truth says what each step finds."""

    def __init__(self, car):
        self.car, self.log, self.asked = replace(car, mended={}), [], []

    def now(self):
        answers = {one.check: one.value for one in self.log if isinstance(one.value, str)}
        machine = machine_of(self.car.recorded(), answers)
        band = dormancy(self.car.years * 365.25, self.car.put_away)
        plan = plan_for(band, self.car.fuel_days, None, machine, settling(self.log))
        gates = permissions(plan, self.log)
        return plan, gates, next_act(plan, gates)

    def do(self, check):
        """One step as it is found; nobody may come to harm by being sent to it."""
        for fault in self.car.present():
            assert check.act not in fault.harms, (check.key, fault)
            assert check.key not in fault.harms, (check.key, fault)
        if check.act in (Act.CRANK, Act.RUN) or check.key in ROAD:
            assert check.caution
        unit = "" if isinstance(check.judge, Answer) else check.judge.unit
        when = START + timedelta(minutes=len(self.log))
        self.log.append(Result(check.key, when, self.car.shows(check.key), unit))
        self.asked.append(check)

    def run(self):
        """To the end, or to where its owner gives up; what came next there."""
        tries = {}
        for _ in range(MOST_STEPS):
            plan, gates, following = self.now()
            if following.kind is Kind.END:
                return following, gates
            check = next(one for one in plan.checks if one.key == following.check)
            if following.kind in (Kind.AGAIN, Kind.CALL):
                tries[check.key] = tries.get(check.key, 0) + 1
                if tries[check.key] > PATIENCE:
                    return following, gates
                self.car.mend(check.key)
            self.do(check)
        raise AssertionError(f"{self.car.name}: no end in {MOST_STEPS} steps")


@pytest.mark.parametrize("car", CARS, ids=[car.name for car in CARS])
def test_each_car_is_walked_to_its_end_by_steps_of_its_own_machine_and_nobody_comes_to_harm(car):
    walk = Walk(car)
    following, gates = walk.run()
    for number, check in enumerate(walk.asked):
        assert car.is_of(check.kind), f"{check.key} is not for this car"
        part = KINDS[check.kind][0] if check.kind else ""
        if part and part not in car.known:
            before = [one.key for one in walk.asked[:number]]
            assert QUESTION + part in before, f"{check.key} before it was asked what is built in"
    mended = set(walk.car.mended)
    wrong = {fault.step for fault in car.faults}
    assert mended <= wrong, "a sound part was stopped"
    if car.name == "rotten":
        assert following.kind is Kind.CALL
        assert "body engineer" in following.text
        assert not any(gates.given(permission) for permission in Permission)
        return
    assert mended == wrong, "a fault was never found"
    assert all(gates.given(permission) for permission in Permission)
    plan, _, _ = walk.now()
    assert open_tasks(plan, walk.log) == ()
    assert all(check.state is not State.UNDONE for stage in gates.stages for check in stage.checks)


def test_there_are_thirty_of_every_machine_and_of_every_time():
    assert len(CARS) == 30
    assert {(car.volts, car.fuel) for car in CARS} >= {
        (6, "petrol"),
        (12, "petrol"),
        (24, "petrol"),
        (24, "diesel"),
    }
    assert all(any(car.is_of(kind) for car in CARS) for kind in KINDS)
    assert len({dormancy(car.years * 365.25, car.put_away) for car in CARS}) >= 5
    assert any(car.earth == "positive" for car in CARS)


@pytest.mark.parametrize("volts", VOLTS)
def test_a_meter_that_shows_a_minus_on_positive_earth_is_judged_by_what_it_shows(volts):
    car = replace(CARS[0], volts=volts)
    plan = plan_for(dormancy(1000.0, False), None, None, car.build)
    for check in plan.checks:
        if check.key in ("battery_rest", "battery_load", "cranking_volts", "charging"):
            value = car.shows(check.key)
            grades = {grade(check, Result(check.key, START, sign * value, "V")) for sign in (1, -1)}
            assert grades == {Grade.PASS}, check.key
