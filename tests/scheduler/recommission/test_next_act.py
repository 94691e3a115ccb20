"""No state of a plan is a dead end: walks of random answers, by machine, band, tags and hazards."""

import os
from datetime import UTC, datetime, timedelta
from random import Random

import pytest

from scheduler.faults.table import TREES
from scheduler.recommission.next_act import Kind, next_act
from scheduler.recommission.permissions import ACT_NEEDS, HAZARDS, permissions
from scheduler.recommission.stages.acts import Act
from scheduler.recommission.stages.begin import QUESTIONS
from scheduler.recommission.stages.gates import THROUGH
from scheduler.recommission.stages.machine import KINDS, Machine, machine_of
from scheduler.recommission.stages.plan import CHECKS, Dormancy, plan_for, settling
from scheduler.recommission.stages.results import Result
from scheduler.recommission.stages.steps import Answer
from scheduler.recommission.tags import Permission, Tag
from tests.scheduler.recommission.test_stages import all_good, at, bad, given_to, good

START = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)
WALKS = int(os.environ.get("LONGSTAND_WALKS", "10"))
MOST_STEPS = 600


def random_answer(check, random, share_good):
    """An answer of any sort: a pass, a caution, a stop, or could not be done."""
    if random.random() < share_good:
        return good(check)
    if isinstance(check.judge, Answer):
        judge = check.judge
        return random.choice([None, *judge.passes, *judge.cautions, *judge.stops])
    return random.choice([None, good(check), bad(check)])


class Walk:
    """One car led through its plan."""

    def __init__(self, random):
        self.random, self.log = random, []
        self.band = random.choice(list(Dormancy))
        self.fuel_age = random.choice([None, 20.0, 400.0])
        self.known = {part: random.choice([None, *answers]) for part, _, answers in QUESTIONS}
        self.known["volts"] = random.choice([None, 6, 12, 24])
        self.hazards = random.sample(list(HAZARDS), random.choice([0, 0, 1, 2]))
        takes, acts = random.choice(list(Permission)), random.choice([None, *Act])
        self.tags = [Tag("t", takes, "Part out", "as written", acts)] * random.choice([0, 0, 1])

    def plan(self):
        answers = {one.check: one.value for one in self.log if isinstance(one.value, str)}
        machine = machine_of(self.known, answers)
        return plan_for(self.band, self.fuel_age, None, machine, settling(self.log))

    def now(self):
        plan = self.plan()
        gates = permissions(plan, self.log, self.tags, self.hazards)
        return plan, gates, next_act(plan, gates, self.tags, self.hazards)

    def write(self, plan, key, share_good):
        check = next(one for one in plan.checks if one.key == key)
        unit = "" if isinstance(check.judge, Answer) else check.judge.unit
        when = START + timedelta(minutes=len(self.log))
        self.log.append(Result(key, when, random_answer(check, self.random, share_good), unit))

    def step(self, share_good):
        """One thing done as it is asked; whether it has ended."""
        plan, gates, following = self.now()
        assert following.text
        if following.kind is Kind.END:
            assert all(gates.given(permission) for permission in Permission)
            return True
        if following.kind is Kind.CLEAR:
            self.hazards, self.tags = [], []
            return False
        if following.kind is Kind.DO:
            act = next(one.act for one in plan.checks if one.key == following.check)
            assert gates.acts[act] == ()
        self.write(plan, following.check, share_good)
        return False


@pytest.mark.parametrize("seed", range(WALKS))
def test_from_any_state_of_random_answers_there_is_a_next_act_and_good_answers_lead_to_the_end(seed):
    walk = Walk(Random(seed))  # noqa: S311 - walks, no secret
    for _ in range(walk.random.randint(0, 120)):
        if walk.step(share_good=0.6):
            break
    assert any(walk.step(share_good=1.0) for _ in range(MOST_STEPS))


def test_a_call_says_what_to_do_and_why():
    plan = plan_for(Dormancy.FROM_3)
    log = [*all_good(plan), at("structure", "do not raise", 5)]
    following = next_act(plan, permissions(plan, log))
    assert following.kind is Kind.CALL
    assert "body engineer" in following.text


@pytest.mark.parametrize("answer", ["none", None])
def test_a_car_without_a_spark_may_be_turned_powered_sparked_and_cranked_and_not_run(answer):
    plan = plan_for(
        Dormancy.FROM_10, machine=Machine(12, "petrol", "carburettor", "points", "dynamo", "water")
    )
    log = [*all_good(plan), at("spark", answer, 5)]
    acts = permissions(plan, log).acts
    assert [act for act in Act if not acts[act]] == [Act.LOOK, Act.HAND, Act.POWER, Act.SPARK, Act.CRANK]
    assert given_to(plan, log) == [True, False, False, False]


def test_cranking_in_bursts_needs_neither_a_spark_nor_oil_pressure_nor_compression():
    before = {
        "points_closed",
        "spark",
        "stop_proven",
        "preoil",
        "compression",
        "cranking_volts",
        "carburettor_clean",
    }
    assert not before & set(ACT_NEEDS[Act.CRANK])


def test_a_first_run_that_boils_or_does_not_charge_may_be_repeated_to_find_out_why():
    plan = plan_for(Dormancy.FROM_10)
    log = [*all_good(plan), at("temperature", "boils", 5), at("charging", 12.0, 5)]
    assert permissions(plan, log).acts[Act.RUN] == ()
    assert permissions(plan, [*log, at("knock_leak_smoke", "knock", 6)]).acts[Act.RUN] != ()


def test_every_need_of_an_act_is_a_step_and_no_act_needs_a_step_that_itself_needs_it():
    for act, needs in ACT_NEEDS.items():
        assert set(needs) <= set(CHECKS)
        assert act not in {CHECKS[key].act for key in needs}


def test_a_diesel_is_not_asked_for_points_spark_carburettor_or_a_wet_test():
    plan = plan_for(Dormancy.FROM_20, machine=Machine(fuel="diesel"))
    asked = {check.key for check in plan.checks}
    assert not asked & {"points_closed", "spark", "carburettor_clean", "compression", "vacuum", "is_ignition"}
    assert {"stop_proven", "glow_plugs", "bled", "compression_diesel"} <= asked
    assert not any("15 ml oil" in check.do for check in plan.checks)


@pytest.mark.parametrize(
    ("kind", "machine", "other"),
    [
        ("automatic", Machine(gearbox="automatic"), Machine(gearbox="manual")),
        ("air-cooled", Machine(cooling="air"), Machine(cooling="water")),
        ("cam belt", Machine(cam="belt"), Machine(cam="chain or gears")),
        ("gas", Machine(gas="gas fitted"), Machine(gas="no gas")),
        ("power steering", Machine(steering="power"), Machine(steering="unassisted")),
        ("hydropneumatic", Machine(suspension="hydropneumatic"), Machine(suspension="springs")),
        ("electronic injection", Machine(feed="electronic injection"), Machine(feed="carburettor")),
    ],
)
def test_steps_of_a_kind_are_asked_of_it_alone_and_a_question_comes_where_nobody_knows(kind, machine, other):
    own = {key for key, check in CHECKS.items() if check.kind == kind}
    asked = [
        {check.key for check in plan_for(Dormancy.FROM_20, machine=one).checks} for one in (machine, other)
    ]
    assert own
    assert own <= asked[0]
    assert not own & asked[1]
    unknown = plan_for(Dormancy.FROM_20, machine=Machine())
    keys = {check.key for check in unknown.checks}
    assert not own & keys
    assert f"is_{KINDS[kind][0]}" in keys
    waiting = {stage.key for stage in unknown.stages if "R0" in stage.after}
    assert {CHECKS[key].stage for key in own} <= waiting


HEALTHY = {
    6: {"battery_rest": 6.35, "battery_load": 4.9, "cranking_volts": 4.9},
    12: {"battery_rest": 12.62, "battery_load": 9.7, "cranking_volts": 9.7},
    24: {"battery_rest": 25.3, "battery_load": 19.3, "cranking_volts": 19.3},
}
CHARGES = [(6, "dynamo", 7.1), (12, "dynamo", 13.3), (12, "alternator", 14.2), (24, "alternator", 28.6)]


def states_of(machine, values):
    plan = plan_for(Dormancy.FROM_10, machine=machine)
    log = [Result(key, START, value, "V") for key, value in values.items()]
    return {one.check: one.state for stage in permissions(plan, log).stages for one in stage.checks}


@pytest.mark.parametrize("volts", HEALTHY)
def test_healthy_volts_stop_no_car_of_their_system_and_stop_one_of_a_higher(volts):
    states = states_of(Machine(volts=volts, generator="dynamo"), HEALTHY[volts])
    assert all(states[key] in THROUGH for key in HEALTHY[volts])
    if volts < 24:
        higher = states_of(Machine(volts=2 * volts, generator="dynamo"), HEALTHY[volts])
        assert not any(higher[key] in THROUGH for key in HEALTHY[volts])


@pytest.mark.parametrize(("volts", "generator", "value"), CHARGES)
def test_what_charges_is_judged_by_generator_and_volts(volts, generator, value):
    machine = Machine(volts=volts, generator=generator)
    assert states_of(machine, {"charging": value})["charging"] == "pass"


def test_six_volt_load_limit_follows_the_cold_and_a_24_volt_one_too():
    for volts, temp_c, least in ((6, -1.0, 4.55), (24, -18.0, 17.0)):
        plan = plan_for(Dormancy.FROM_10, machine=Machine(volts=volts))
        check = next(one for one in plan.checks if one.key == "battery_load")
        assert check.judge.grade(least, {"temp_c": temp_c}) == "pass"
        assert check.judge.grade(least - 0.02, {"temp_c": temp_c}) == "stop"


@pytest.mark.parametrize("band", list(Dormancy))
def test_what_is_taken_off_is_put_on_again_in_every_band(band):
    closing = {check.closes: check.key for check in CHECKS.values() if check.closes}
    assert set(closing) == {"tank_line_off", "hand_turn", "wheels_free"}
    for age in (20.0, 120.0):
        asked = {check.key for check in plan_for(band, age).checks}
        assert "line_on" in asked
        assert all(closes in asked for opens, closes in closing.items() if opens == "tank_line_off")
        assert {"preoil", "exhaust_clear", "wheels_down"} <= asked


def test_the_road_is_shut_while_the_line_is_off_and_the_car_does_not_move_on_its_own_fuel():
    plan = plan_for(Dormancy.UP_TO_1, 120.0)
    log = [*all_good(plan), at("line_on", "still off", 5)]
    assert given_to(plan, log) == [True, True, False, False]


@pytest.mark.parametrize("band", list(Dormancy))
def test_a_line_once_cleared_stays_open_until_the_tank_was_opened_after_it(band):
    cleared = at("line_flow", "flows after clearing", 5)
    plan = plan_for(band, 20.0, None, None, settling([cleared]))
    assert "tank_opened" in {check.key for check in plan.checks}
    log = [*all_good(plan), cleared, at("line_flow", "flows", 29)]
    assert given_to(plan, log)[3] is False
    assert [task.settled_by for task in permissions(plan, log).open_tasks] == ["tank_opened"]
    assert next_act(plan, permissions(plan, log)).check == "tank_opened"
    assert given_to(plan, [*log, at("tank_opened", "clean", 4)])[3] is False
    assert given_to(plan, [*log, at("tank_opened", "clean", 30)]) == [True] * 4


def test_every_step_and_every_search_is_for_a_kind_of_machine_that_exists():
    kinds = {check.kind for check in CHECKS.values()} | {tree.machine for tree in TREES.values()}
    assert kinds - {""} == set(KINDS)


def test_steps_that_name_a_danger_carry_a_caution():
    for check in CHECKS.values():
        assert not check.hazard or check.caution, check.key
        assert check.act is Act.LOOK or check.caution, check.key
