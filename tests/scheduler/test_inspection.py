"""The walk-round: when, and what to look for."""

import pytest

from scheduler.errors import BadInput
from scheduler.plan import inspection
from scheduler.plan.dampness import damp_shares
from scheduler.plan.policy import Policy
from tests.scheduler.barn import DAYS, FIRST_DAY, TODAY, a_place, cars

POLICY = Policy()
DAMP, DRY = 95.0, 40.0


def due_in(shelter, rh_pct=DRY, **columns):
    fleet = cars(place=a_place(shelter, rh_pct=rh_pct), last_inspected=TODAY, **columns)
    return inspection.window(fleet, TODAY, POLICY).due[0] - TODAY


def test_weekly_in_the_open_and_monthly_under_a_dry_roof():
    assert due_in("open") == 7
    assert due_in("covered") == 30


def test_damp_brings_the_walk_round_under_a_roof_forward_to_half_at_most():
    assert 15 <= due_in("covered", DAMP) < due_in("covered", DRY)
    assert due_in("open", DAMP) == 7


def test_the_window_is_the_armys_tenth_either_way():
    fleet = cars(place=a_place("covered", rh_pct=DRY), last_inspected=TODAY)
    window = inspection.window(fleet, TODAY, POLICY)
    assert (window.early[0] - TODAY, window.late[0] - TODAY) == pytest.approx((27, 33))
    assert not window.assumed[0]


def test_a_visit_stands_in_for_a_walk_round_and_is_named_as_assumed():
    fleet = cars(last_attended=TODAY - 3)
    assert inspection.window(fleet, TODAY, POLICY).assumed[0]
    assert any("No walk-round" in said for said in inspection.explain(fleet, TODAY, POLICY).assumptions)


def test_a_car_of_which_nothing_is_known_is_walked_round_today_for_everything():
    said = inspection.explain(cars(), TODAY, POLICY)
    assert inspection.window(cars(), TODAY, POLICY).due[0] == TODAY
    assert any(step.label == "Clutch plate" for step in said.steps)
    assert any("every part is listed" in line for line in said.assumptions)


def test_longer_standing_lists_more_parts_each_with_its_caution():
    steps = [
        inspection.explain(cars(last_moved=TODAY - days, last_inspected=TODAY), TODAY, POLICY).steps
        for days in (1, 100, 2000)
    ]
    assert len(steps[0]) < len(steps[1]) < len(steps[2])
    assert all("Caution:" in step.worked for step in steps[2][1:])


def test_an_old_tyre_is_named():
    old = cars(last_inspected=TODAY, last_moved=TODAY, tyre_made=TODAY - 4000)
    assert any("replace" in step.worked for step in inspection.explain(old, TODAY, POLICY).steps)
    new = cars(last_inspected=TODAY, last_moved=TODAY, tyre_made=TODAY - 400)
    assert not any(step.label == "Tyre age" for step in inspection.explain(new, TODAY, POLICY).steps)


def test_damp_share_is_bounded_and_follows_the_place():
    assert damp_shares(cars(place=a_place(rh_pct=DRY)), TODAY, POLICY)[0] == 0
    assert 0 < damp_shares(cars(), TODAY, POLICY)[0] <= 1


def test_a_day_outside_the_places_days_is_refused():
    for day in (FIRST_DAY - 1, FIRST_DAY + DAYS + 1):
        with pytest.raises(BadInput, match="today"):
            damp_shares(cars(), float(day), POLICY)
