"""What recommissioning costs: ranges from the organisation's own rates, before and after inspection."""

from datetime import UTC, datetime
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.condition.outlook import Finding, Seen, Stood, outlook
from scheduler.condition.prices import Prices
from scheduler.condition.remedies import REMEDIES
from scheduler.condition.systems import SYSTEMS
from scheduler.recommission.costs import estimate
from scheduler.recommission.stages.gates import stage_states
from scheduler.recommission.stages.plan import CHECKS, ORDER, Dormancy, plan_for
from scheduler.recommission.stages.results import Result
from scheduler.recommission.work import REPAIRED_AT, WORK

YEAR = 365.2425
NOON = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
PARTS = ("parts_factor", *{remedy.part for remedy in REMEDIES.values()})
OLD = plan_for(Dormancy.FROM_10)
TWELVE = outlook(Stood(12 * YEAR, 12 * YEAR))
AN_HOUR_IS_ONE = Prices(workshop_hour=1.0, **dict.fromkeys(PARTS, 0.0))


def labels(answer):
    return {line.work for line in answer.lines}


def outlook_with(system, seen):
    return outlook(Stood(12 * YEAR, 12 * YEAR), [Finding(system, seen, "seen")])


def test_money_is_hours_at_the_price_plus_materials():
    answer = estimate(OLD, TWELVE, prices=Prices(workshop_hour=20.0, parts_factor=2.0))
    safe = next(line for line in answer.lines if line.work == "safe")
    assert (safe.hours, safe.parts) == ((0.5, 1.0, 2.0), (0.0, 20.0, 60.0))
    assert safe.money == (10.0, 40.0, 100.0)


def test_with_an_hour_worth_one_and_parts_free_the_money_is_the_hours():
    answer = estimate(OLD, TWELVE, prices=AN_HOUR_IS_ONE)
    assert answer.money == pytest.approx(answer.hours)
    by_stage = [answer.of_stage(key)[1] for key in ORDER]
    assert sum(by_stage) == pytest.approx(answer.hours[1])


def test_a_repair_counts_in_the_case_that_its_chance_reaches():
    unlikely = outlook(Stood(150, 150))
    battery, tyres = (
        next((line for line in estimate(OLD, unlikely).lines if line.work == name), None)
        for name in ("battery", "tyres")
    )
    assert min(battery.hours) > 0
    assert tyres.hours[0] == tyres.hours[1] == 0 < tyres.hours[2]


def test_what_is_seen_to_be_good_costs_nothing_and_a_fault_is_certain():
    assert "bores" in labels(estimate(OLD, TWELVE))
    assert "bores" not in labels(estimate(OLD, outlook_with("bores", Seen.GOOD)))
    line = next(one for one in estimate(OLD, outlook_with("bores", Seen.FAULTY)).lines if one.work == "bores")
    assert min(line.hours) > 0
    assert line.because == "found at the car"


def test_after_years_fuel_and_brakes_are_done_whatever_is_found():
    sound = outlook_with("brake_hose", Seen.GOOD)
    assert "brake_hose" not in labels(estimate(plan_for(Dormancy.FROM_1), sound))
    line = next(one for one in estimate(OLD, sound).lines if one.work == "brake_hose")
    assert min(line.hours) > 0
    assert line.because == "always done"


def test_a_stage_that_is_through_costs_no_more_and_soaking_ends_with_it():
    log = [Result(check.key, NOON, check.judge.passes[0]) for check in OLD.checks if check.stage == "R3"]
    before, done = estimate(OLD, TWELVE), estimate(OLD, TWELVE, stage_states(OLD, log))
    assert "free" in labels(before)
    assert "free" not in labels(done)
    assert before.waiting_days == (5, 7, 14)
    assert done.waiting_days == (0, 0, 0)


def test_where_nobody_knows_the_low_case_holds_the_plan_alone():
    unknown = estimate(OLD, outlook(Stood(0, None)))
    plan = estimate(OLD, outlook(Stood(0, 0)))
    assert unknown.money[0] == plan.money[0]
    assert unknown.money[2] > plan.money[2]


def test_longer_rests_cost_more_in_every_case():
    totals = [estimate(plan_for(band), TWELVE).money for band in Dormancy]
    for shorter, longer in pairwise(totals):
        assert all(a <= b for a, b in zip(shorter, longer, strict=True))


def test_every_piece_of_work_points_at_a_stage_a_system_and_a_check_that_exist():
    systems = {system.name for system in SYSTEMS}
    assert {work.stage for work in WORK} == set(ORDER)
    assert len({work.key for work in WORK}) == len(WORK)
    assert set(REPAIRED_AT) == set(REMEDIES) <= systems
    assert {at.stage for at in REPAIRED_AT.values()} <= set(ORDER)
    assert {at.proved_by for at in REPAIRED_AT.values()} <= {"", *CHECKS}


@settings(max_examples=40, deadline=None)
@given(st.floats(0, 15000), st.floats(0, 1), st.sampled_from(list(Dormancy)))
def test_low_likely_and_high_keep_their_order(days, damp, band):
    answer = estimate(plan_for(band), outlook(Stood(days, days, damp)))
    for triple in (answer.hours, answer.parts, answer.money, *map(answer.of_stage, ORDER)):
        assert 0 <= triple[0] <= triple[1] <= triple[2]
