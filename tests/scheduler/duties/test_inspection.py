"""The inspection: when, and what to look for."""

import numpy as np
import pytest

from scheduler.duties.car import inspection
from scheduler.duties.dampness import damp_shares
from scheduler.duties.policy import Policy
from scheduler.physics.climate import observed
from scheduler.physics.engine.standing_parts import STANDING_PARTS
from scheduler.vocabulary.errors import BadInput
from tests.scheduler.barn import DAYS, FIRST_DAY, TODAY, a_place, cars, readings

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
    assert any("No inspection" in line for line in inspection.explain(fleet, TODAY, POLICY).assumptions)


def test_a_car_of_which_nothing_is_known_is_walked_round_today_for_everything():
    reason = inspection.explain(cars(), TODAY, POLICY)
    assert inspection.window(cars(), TODAY, POLICY).due[0] == TODAY
    assert any(step.label == "Clutch plate" for step in reason.steps)
    assert any("every part is listed" in line for line in reason.assumptions)


def test_longer_standing_lists_more_parts_each_with_its_caution():
    steps = [
        inspection.explain(cars(last_moved=TODAY - days, last_inspected=TODAY), TODAY, POLICY).steps
        for days in (1, 100, 4000)
    ]
    assert len(steps[0]) < len(steps[1]) < len(steps[2])
    parts = {part.label.capitalize() for part in STANDING_PARTS}
    assert {step.label for step in steps[2]} >= parts
    assert all("Caution:" in step.worked for step in steps[2] if step.label in parts)


def test_an_old_tyre_is_named():
    old = cars(last_inspected=TODAY, last_moved=TODAY, tyre_made=TODAY - 4000)
    assert any("replace" in step.worked for step in inspection.explain(old, TODAY, POLICY).steps)
    new = cars(last_inspected=TODAY, last_moved=TODAY, tyre_made=TODAY - 400)
    assert not any(step.label == "Tyre age" for step in inspection.explain(new, TODAY, POLICY).steps)


def steps_of(fleet):
    return {step.label: step.worked for step in inspection.explain(fleet, TODAY, POLICY).steps}


def test_the_air_around_the_car_is_told():
    wet, dry = (steps_of(cars(place=a_place("open", rh_pct=rh), last_moved=TODAY)) for rh in (DAMP, DRY))
    assert wet["Time of wetness"].endswith("class 4 of 5")
    assert dry["Time of wetness"].startswith("0 hours")
    assert wet["Mould"].startswith("mould weather")
    assert dry["Mould"] == "no mould weather"


def test_a_warm_wet_day_after_frost_is_seen_in_logged_air():
    hour = TODAY - 3 + np.arange(72) / 24
    logged = observed(a_place(), hour, np.repeat([-6.0, -6.0, 10.0], 24), np.repeat([80.0, 80.0, 92.0], 24))
    worked = steps_of(cars(place=logged, last_moved=TODAY))["Sweating metal"]
    assert int(worked.split()[0]) >= 10
    assert "wipe dry" in worked


def test_a_measured_humidity_is_told_with_its_band():
    fleet = cars(last_moved=TODAY, readings=readings("surface_rh", (0, TODAY - 2, 78.0)))
    assert steps_of(fleet)["Humidity measured"].endswith("damp")


def test_damp_share_is_bounded_and_follows_the_place():
    assert damp_shares(cars(place=a_place(rh_pct=DRY)), TODAY, POLICY)[0] == 0
    assert 0 < damp_shares(cars(), TODAY, POLICY)[0] <= 1


def test_a_day_outside_the_places_days_is_refused():
    for day in (FIRST_DAY - 1, FIRST_DAY + DAYS + 1):
        with pytest.raises(BadInput, match="today"):
            damp_shares(cars(), float(day), POLICY)
