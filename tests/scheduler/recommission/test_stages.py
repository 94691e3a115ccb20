"""The staged plan: how a value is judged, when a gate opens, what a stop takes away."""

from datetime import UTC, datetime, timedelta
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.recommission.aftercare import aftercare
from scheduler.recommission.permissions import HAZARDS, NEEDS, permissions, stops_from
from scheduler.recommission.stages.gates import State, open_tasks, stage_states
from scheduler.recommission.stages.plan import CHECKS, ORDER, STAGES, Dormancy, dormancy, plan_for
from scheduler.recommission.stages.results import Result, grade
from scheduler.recommission.stages.steps import Answer, Grade, Number
from scheduler.recommission.tags import Permission, Tag
from scheduler.vocabulary.errors import BadInput

YEAR = 365.2425
START = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)
OLD = plan_for(Dormancy.FROM_20)
HANDBOOK = {"oil_pressure_hot": (200.0, 450.0)}


def at(check, value, hours=0, unit=None, **conditions):
    judge = CHECKS[check].judge
    own = judge.unit if isinstance(judge, Number) else ""
    return Result(
        check, START + timedelta(hours=hours), value, own if unit is None else unit, conditions=conditions
    )


def good(check):
    """A value that passes, or is at best under caution where only a handbook could pass it."""
    judge = check.judge
    if isinstance(judge, Answer):
        return judge.passes[0]
    for value in (judge.pass_low, judge.pass_high, judge.caution_low):
        if abs(value) != float("inf"):
            return value
    raise AssertionError(check.key)


def bad(check):
    judge = check.judge
    if isinstance(judge, Answer):
        return judge.stops[0] if judge.stops else None
    low = min(judge.pass_low, judge.caution_low)
    return low - 1.0 if abs(low) != float("inf") and low > 1.0 else 1e6


def all_good(plan, hours=0):
    return [at(check.key, good(check), hours) for check in plan.checks]


def graded(check, value, unit=None, **conditions):
    return grade(CHECKS[check], at(check, value, 0, unit, **conditions))


@pytest.mark.parametrize(
    ("check", "value", "grade"),
    [
        ("battery_rest", 12.6, Grade.PASS),
        ("battery_rest", 12.4, Grade.CAUTION),
        ("battery_rest", 12.2, Grade.STOP),
        ("compression", 90.0, Grade.PASS),
        ("compression", 75.0, Grade.CAUTION),
        ("compression", 74.9, Grade.STOP),
        ("charging", 14.2, Grade.PASS),
        ("charging", 13.3, Grade.CAUTION),
        ("charging", 12.9, Grade.STOP),
        ("charging", 15.6, Grade.STOP),
        ("tyre_age", 5.9, Grade.PASS),
        ("tyre_age", 8.0, Grade.CAUTION),
        ("tyre_age", 10.5, Grade.STOP),
        ("pedal_travel", 80.0, Grade.PASS),
        ("pedal_travel", 81.0, Grade.STOP),
        ("points_closed", 300.0, Grade.STOP),
        ("points_closed", 0.1, Grade.PASS),
    ],
)
def test_acceptance_values(check, value, grade):
    assert graded(check, value) is grade


@pytest.mark.parametrize(
    ("temp_c", "least"),
    [(21, 9.6), (16, 9.5), (10, 9.4), (4, 9.3), (-1, 9.1), (-7, 8.9), (-12, 8.7), (-18, 8.5)],
)
def test_the_load_test_allows_less_in_the_cold_as_workshop_tables_have_it(temp_c, least):
    assert graded("battery_load", least + 0.01, temp_c=temp_c) is Grade.PASS
    assert graded("battery_load", least - 0.01, temp_c=temp_c) is Grade.STOP


def test_without_a_temperature_the_load_test_is_judged_strictly():
    assert graded("battery_load", 9.55) is Grade.STOP


def test_vacuum_falls_an_inch_of_mercury_with_each_thousand_feet():
    assert graded("vacuum", 13.0, "inHg") is Grade.CAUTION
    assert graded("vacuum", 13.0, "inHg", altitude_m=3 * 304.8) is Grade.PASS


def test_pressures_may_be_typed_in_psi_and_a_foreign_unit_is_refused():
    assert graded("coolant_pressure", 2.0, "psi") is Grade.CAUTION
    assert graded("coolant_pressure", 2.1, "psi") is Grade.STOP
    with pytest.raises(BadInput, match="measured in kPa"):
        graded("coolant_pressure", 2.0, "V")


def test_without_a_handbook_hot_oil_pressure_is_under_caution_at_best():
    assert graded("oil_pressure_hot", 400.0) is Grade.CAUTION
    own = next(
        check
        for check in plan_for(Dormancy.FROM_20, None, HANDBOOK).checks
        if check.key == "oil_pressure_hot"
    )
    assert grade(own, at("oil_pressure_hot", 400.0)) is Grade.PASS
    assert grade(own, at("oil_pressure_hot", 150.0)) is Grade.STOP


@pytest.mark.parametrize(
    ("years", "known", "band"),
    [
        (0.5, True, Dormancy.UP_TO_1),
        (0.5, False, Dormancy.FROM_1),
        (1.5, True, Dormancy.FROM_1),
        (3.1, True, Dormancy.FROM_3),
        (12, True, Dormancy.FROM_10),
        (25, True, Dormancy.FROM_20),
    ],
)
def test_the_band_follows_the_longest_time_it_may_have_stood(years, known, band):
    assert dormancy(years * YEAR, known) is band


def test_unknown_standing_is_planned_as_the_longest():
    assert dormancy(None, known_preparation=True) is Dormancy.FROM_20


def test_a_short_rest_is_spared_compression_and_an_auxiliary_supply_only_for_old_fuel():
    fresh, stale = (plan_for(Dormancy.UP_TO_1, days) for days in (30.0, 200.0))
    assert set(ORDER) - {stage.key for stage in fresh.stages} == {"R7", "R8"}
    assert set(ORDER) - {stage.key for stage in stale.stages} == {"R7"}


def test_longer_rests_ask_for_more_and_never_for_less():
    plans = [{check.key for check in plan_for(band).checks} for band in Dormancy]
    for shorter, longer in pairwise(plans):
        assert shorter <= longer
    assert {"tank_opened", "hydraulics_stripped"} <= plans[2] - plans[1]
    assert "valves_move" in plans[3] - plans[2]


def test_every_check_can_pass_and_most_can_stop_and_says_its_source():
    for check in CHECKS.values():
        assert check.source.text
        assert check.judge.grade(good(check), {}) is not Grade.STOP
        value = bad(check)
        assert value is None or check.judge.grade(value, {}) is Grade.STOP


def test_dangerous_stages_carry_their_caution():
    fuel = ("fuel_leak", "static_leak", "tank_opened", "line_flow")
    assert all("vapour" in CHECKS[key].caution for key in fuel)
    assert "asbestos" in CHECKS["wheels_free"].caution
    assert "stands" in CHECKS["wheels_free"].caution
    assert "monoxide" in CHECKS["oil_pressure_start"].caution
    assert "compressed air" in CHECKS["tank_opened"].caution


def given_to(plan, results, tags=(), hazards=()):
    answer = permissions(plan, results, tags, hazards)
    return [answer.given(permission) for permission in Permission]


def test_nothing_is_allowed_before_anything_is_done():
    assert given_to(OLD, []) == [False] * 4


@pytest.mark.parametrize("band", list(Dormancy))
def test_all_is_allowed_when_every_check_is_through(band):
    assert given_to(plan_for(band), all_good(plan_for(band))) == [True] * 4


def test_permissions_come_one_after_the_other():
    for permission, last in ((0, "R6"), (1, "R8"), (2, "R13")):
        through = [
            at(c.key, good(c))
            for c in OLD.checks
            if ORDER[c.stage] <= ORDER[last] and (permission or c.stage != "R5b")
        ]
        assert given_to(OLD, through) == [p <= permission for p in range(4)]


def test_a_seized_engine_may_not_be_cranked_and_a_retest_gives_it_back():
    log = [*all_good(OLD), at("hand_turn", "will not turn", 5)]
    assert given_to(OLD, log) == [False] * 4
    assert given_to(OLD, [*log, at("hand_turn", "smoothly", 6)]) == [True] * 4


def test_a_sinking_pedal_leaves_the_engine_and_stops_the_car():
    assert given_to(OLD, [*all_good(OLD), at("pedal_hold", "sinks", 5)]) == [True, True, False, False]


def test_tyres_over_ten_years_keep_it_off_the_road_and_no_more():
    assert given_to(OLD, [*all_good(OLD), at("tyre_age", 11.0, 5)]) == [True, True, True, False]


def test_no_caution_of_a_running_engine_asks_for_the_ignition_off():
    running = [check for check in OLD.checks if check.stage == "R9"]
    assert not any("ignition off" in check.caution for check in running)


def test_no_oil_pressure_at_the_first_run_takes_the_run_away():
    log = [*all_good(OLD), at("oil_pressure_start", 15.0, 5)]
    assert given_to(OLD, log) == [True, False, False, False]


def test_of_two_entries_at_the_same_moment_the_worse_counts():
    log = [*all_good(OLD), at("charging", 12.0, 5), at("charging", 14.2, 5)]
    assert given_to(OLD, log) == [True, False, False, False]
    assert given_to(OLD, log[::-1]) == [True, False, False, False]


def test_could_not_do_leaves_the_gate_shut_without_a_stop():
    log = [*all_good(OLD), at("spark", None, 5)]
    state = next(state for state in stage_states(OLD, log) if state.stage == "R5b")
    assert state.state is State.COULD_NOT
    assert given_to(OLD, log) == [True, False, False, False]


def test_a_stage_waits_for_those_before_it():
    states = {state.stage: state for state in stage_states(OLD, [])}
    assert states["R1"].may_begin
    assert states["R9"].waits_for == ("R3", "R4", "R5", "R5b", "R6", "R7", "R8")


def test_a_cleared_line_stays_open_and_off_the_road_until_the_tank_is_opened_after_it():
    log = [*all_good(OLD), at("line_flow", "flows after clearing", 5)]
    assert [task.settled_by for task in open_tasks(OLD, log)] == ["tank_opened"]
    assert given_to(OLD, log) == [True, True, True, False]
    settled = [*log, at("tank_opened", "clean", 6)]
    assert open_tasks(OLD, settled) == ()
    assert given_to(OLD, settled) == [True] * 4


@pytest.mark.parametrize("revokes", list(Permission))
def test_every_tag_takes_its_permission_and_all_later_ones(revokes):
    tag = Tag("t", revokes, "Part out", "as written")
    assert given_to(OLD, all_good(OLD), [tag]) == [p < revokes for p in Permission]
    before = permissions(OLD, all_good(OLD), [tag]).allowed[revokes].reasons
    assert before == ("tag: Part out (as written)",)


@pytest.mark.parametrize("hazard", list(HAZARDS))
def test_every_hazard_takes_its_permission_and_all_later_ones(hazard):
    assert given_to(OLD, all_good(OLD), (), [hazard]) == [p < HAZARDS[hazard][0] for p in Permission]


@pytest.mark.parametrize(
    ("call", "argument"),
    [
        (lambda: permissions(OLD, [], (), ["gremlins"]), "hazards"),
        (lambda: stage_states(OLD, [Result("tea", START, "hot")]), "check"),
        (lambda: stage_states(OLD, [Result("spark", START, "purple")]), "value"),
        (lambda: graded("battery_rest", float("nan")), "value"),
        (lambda: graded("battery_rest", "high"), "value"),
        (lambda: plan_for(Dormancy.FROM_1, None, {"spark": (1, 2)}), "handbook"),
        (lambda: plan_for(Dormancy.FROM_1, None, {"charging": (15, 13)}), "handbook"),
        (lambda: dormancy(-1.0, known_preparation=True), "longest_days"),
    ],
)
def test_malformed_input_is_refused_by_name(call, argument):
    with pytest.raises(BadInput) as caught:
        call()
    assert caught.value.argument == argument


def test_the_tables_hold_together():
    assert [key for key in ORDER if key not in ("R5b", "R13a")] == [f"R{i}" for i in range(16)]
    assert sorted(stage for stages in NEEDS.values() for stage in stages) == sorted(ORDER)
    assert len(CHECKS) == sum(len(stage.checks) for stage in STAGES)
    assert all(ORDER[before] < ORDER[stage.key] for stage in STAGES for before in stage.after)
    assert all(not check.temporary or check.temporary_until in CHECKS for check in CHECKS.values())


stoppable = st.sampled_from([check for check in OLD.checks if bad(check) is not None])


@settings(max_examples=60, deadline=None)
@given(stoppable, st.sampled_from(list(Dormancy)))
def test_any_stop_revokes_every_later_permission_until_tested_again(check, band):
    plan = plan_for(band)
    if check.key not in {own.key for own in plan.checks}:
        return
    stopped = [*all_good(plan), at(check.key, bad(check), 5)]
    for permission, allowed in zip(Permission, given_to(plan, stopped), strict=True):
        assert allowed == (stops_from(check.stage) is None or permission < stops_from(check.stage))
    assert given_to(plan, [*stopped, at(check.key, good(check), 6)]) == [True] * 4


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.tuples(stoppable, st.booleans(), st.integers(0, 9)), max_size=12),
    st.randoms(use_true_random=False),
)
def test_the_order_in_which_entries_arrive_never_matters(entries, random):
    log = all_good(OLD) + [at(c.key, good(c) if well else bad(c), hours) for c, well, hours in entries]
    assert permissions(OLD, random.sample(log, len(log))) == permissions(OLD, log)


@settings(max_examples=40, deadline=None)
@given(st.sets(st.sampled_from([check.key for check in OLD.checks])))
def test_a_permission_never_stands_without_those_before_it(done):
    allowed = given_to(OLD, [at(check.key, good(check)) for check in OLD.checks if check.key in done])
    assert allowed == sorted(allowed, reverse=True)


def test_the_baseline_holds_every_measured_value_and_names_those_never_taken():
    taken = aftercare(OLD, [at("charging", 14.2), at("vacuum", 19.0, 0, "inHg"), at("compression", None)])
    assert [(one.check, one.unit) for one in taken.baseline] == [
        ("charging", "V"),
        ("vacuum", "kPa"),
    ]
    assert taken.baseline[1].value == pytest.approx(19.0 * 3.386389)
    assert {"compression", "battery_rest"} <= set(taken.missing)
    assert aftercare(OLD, all_good(OLD)).missing == ()
