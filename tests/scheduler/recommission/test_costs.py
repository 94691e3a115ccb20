"""What recommissioning costs: ranges from the organisation's own rates, before and after inspection."""

from datetime import UTC, datetime
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.condition.outlook import Stood, outlook
from scheduler.condition.systems import SYSTEMS
from scheduler.recommission.costs import Rates, estimate
from scheduler.recommission.stages.gates import stage_states
from scheduler.recommission.stages.plan import CHECKS, ORDER, Dormancy, plan_for
from scheduler.recommission.stages.results import Result
from scheduler.recommission.work import WORK
from scheduler.vocabulary.errors import BadInput

YEAR = 365.2425
NOON = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
OLD = plan_for(Dormancy.FROM_10)
TWELVE = outlook(Stood(12 * YEAR, 12 * YEAR))
AN_HOUR_IS_ONE = Rates("hours", (1.0, 1.0, 1.0), (0.0, 0.0, 0.0))


def after(check, value):
    return stage_states(OLD, [Result(check, NOON, value)])


def labels(answer):
    return {line.work for line in answer.lines}


def test_money_is_hours_at_the_rate_plus_parts():
    answer = estimate(OLD, TWELVE, rates=Rates("EUR", (10.0, 20.0, 30.0), (2.0, 2.0, 2.0)))
    record = next(line for line in answer.lines if line.work == "safe")
    assert record.hours == (0.5, 1.0, 2.0)
    assert record.parts == (0.0, 20.0, 60.0)
    assert record.money == (5.0, 40.0, 120.0)


def test_with_an_hour_worth_one_and_parts_free_the_money_is_the_hours():
    answer = estimate(OLD, TWELVE, rates=AN_HOUR_IS_ONE)
    assert answer.money == pytest.approx(answer.hours)
    assert sum(triple[1] for triple in answer.by_stage.values()) == pytest.approx(answer.hours[1])


def test_a_repair_counts_in_the_case_that_its_chance_reaches():
    unlikely = outlook(Stood(150, 150))
    battery, tyres = (
        next((line for line in estimate(OLD, unlikely).lines if line.work == f"mend_{name}"), None)
        for name in ("battery", "tyres")
    )
    assert min(battery.hours) > 0
    assert tyres.hours[0] == tyres.hours[1] == 0 < tyres.hours[2]


def test_a_passed_check_takes_its_repair_away_and_a_stop_makes_it_certain():
    assert "mend_bores" in labels(estimate(OLD, TWELVE))
    assert "mend_bores" not in labels(estimate(OLD, TWELVE, after("hand_turn", "smoothly")))
    stopped = estimate(OLD, outlook(Stood(1, 1)), after("hand_turn", "will not turn"))
    line = next(line for line in stopped.lines if line.work == "mend_bores")
    assert min(line.hours) == 25
    assert "certain" in line.because


def test_a_stage_that_is_through_costs_no_more_and_soaking_ends_with_it():
    log = [Result(check.key, NOON, check.judge.passes[0]) for check in OLD.checks if check.stage == "R3"]
    before, done = estimate(OLD, TWELVE), estimate(OLD, TWELVE, stage_states(OLD, log))
    assert "free" in labels(before)
    assert "free" not in labels(done)
    assert before.waiting_days == (5, 7, 14)
    assert done.waiting_days == (0, 0, 0)


def test_what_is_not_known_of_a_system_is_counted_in_full():
    assert "mend_bores" in labels(estimate(OLD, ()))


def test_longer_rests_cost_more_in_every_case():
    totals = [estimate(plan_for(band), TWELVE).money for band in Dormancy]
    for shorter, longer in pairwise(totals):
        assert all(a <= b for a, b in zip(shorter, longer, strict=True))


@pytest.mark.parametrize(
    ("rates", "argument"),
    [
        (Rates(hour=(60, 45, 90)), "hour"),
        (Rates(hour=(-1, 1, 2)), "hour"),
        (Rates(parts_factor=(1, float("nan"), 1)), "parts_factor"),
    ],
)
def test_rates_out_of_order_are_refused_by_name(rates, argument):
    with pytest.raises(BadInput) as caught:
        estimate(OLD, TWELVE, rates=rates)
    assert caught.value.argument == argument


def test_every_piece_of_work_points_at_a_stage_a_system_and_a_check_that_exist():
    systems = {system.name for system in SYSTEMS}
    for work in WORK:
        assert work.stage in ORDER
        assert not work.system or (work.system in systems and work.proved_by in CHECKS)
    assert len({work.key for work in WORK}) == len(WORK)
    assert {work.stage for work in WORK if not work.system} == set(ORDER)


@settings(max_examples=40, deadline=None)
@given(st.floats(0, 15000), st.floats(0, 1), st.sampled_from(list(Dormancy)))
def test_low_likely_and_high_keep_their_order(days, damp, band):
    answer = estimate(plan_for(band), outlook(Stood(days, days, damp)))
    for triple in (answer.hours, answer.parts, answer.money, *answer.by_stage.values()):
        assert 0 <= triple[0] <= triple[1] <= triple[2]
