"""When fuel is to be treated and when changed, and what is said about it."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.duties.conditions import REGIMES, TANK_MATERIALS
from scheduler.duties.fuel import events as fuel_events
from scheduler.duties.fuel import fuel_change, stabiliser
from scheduler.duties.fuel import limits as fuel_limits
from scheduler.duties.fuel.limits import LIGHT_ENDS, LIMITS, OXIDATION
from scheduler.duties.fuel.outlook import fuel_outlook
from scheduler.duties.policy import Policy
from scheduler.duties.table import DUTIES
from scheduler.duties.windows import NOT_HELD
from scheduler.vocabulary.errors import BadInput
from tests.scheduler.blank import blank
from tests.scheduler.fuel_cars import TODAY, car, events, steady, together, valley

POLICY = Policy()
NAN = np.nan
MONTH = 365.2425 / 12
VALLEY = valley()


def change(fleet):
    return fuel_change.window(fleet, TODAY, POLICY)


def treat(fleet):
    return stabiliser.window(fleet, TODAY, POLICY)


def full(days_ago, place=VALLEY, litres=57.0, bio=0.05, *more, **columns):
    return car(place, fuel_events=((days_ago, "filled", litres, bio), *more), **columns)


def limit_of(window):
    return LIMITS[int(window.limit[0])]


def test_a_closed_tank_at_20_c_is_due_after_six_months():
    window = change(full(10.0, steady(20.0)))
    assert window.due[0] - TODAY == pytest.approx(6 * MONTH - 10, abs=1.5)
    assert limit_of(window) == "gum from oxidation"


def test_early_due_and_late_come_in_order():
    for window in (change(full(10.0)), treat(full(10.0))):
        assert window.early[0] <= window.due[0] <= window.late[0]


def test_nothing_outlasts_two_years_however_cold():
    window = change(full(10.0, steady(-15.0)))
    assert window.due[0] == pytest.approx(TODAY - 10 + 24 * MONTH, abs=1.5)
    assert limit_of(window) == "two years old"


def test_light_ends_limit_a_nearly_empty_vented_tank_in_strong_sun():
    hot = steady(28.0, swing_k=24.0, shelter="open")
    window = change(full(1.0, hot, 3.0, 0.0, fuel="petrol_e0", venting="open", system="carburettor"))
    assert limit_of(window) == "lighter parts lost"
    assert window.due[0] - TODAY < 31


def test_the_cold_holds_back_the_start_on_summer_diesel_and_asks_for_no_change():
    columns = {"fuel": "diesel_b7", "venting": "capped", "system": "diesel", "bio": 0.07}
    summer, winter = full(120.0, **columns), full(2.0, **columns)
    for fleet, waxed in ((summer, True), (winter, False)):
        assert fuel_limits.may_wax(fuel_outlook(fleet, TODAY, POLICY).now, TODAY)[0] == waxed
        assert limit_of(change(fleet)) != "waxing in the cold"
    spring = TODAY + 180
    assert not fuel_limits.may_wax(fuel_outlook(summer, spring, POLICY).now, spring)[0]


def diesel(*events_of):
    return car(VALLEY, fuel="diesel_b7", venting="capped", system="diesel", fuel_events=events_of)


def waxed(fleet, on=TODAY):
    return bool(fuel_limits.may_wax(fuel_outlook(fleet, on, POLICY).now, on)[0])


def test_winter_diesel_enough_of_it_and_an_additive_in_time_each_lift_the_hold():
    bought = (150.0, "filled", 40.0, 0.07)
    assert waxed(diesel(bought))
    assert waxed(diesel(bought, (20.0, "added", 15.0, 0.07, -20.0)))  # most of it is summer's still
    assert not waxed(diesel((150.0, "filled", 5.0, 0.07), (20.0, "added", 40.0, 0.07, -20.0)))
    assert not waxed(diesel((2.0, "filled", 40.0, 0.07, -20.0)))
    assert not waxed(diesel(bought, (2.0, "drained", NAN, NAN), (2.0, "filled", 40.0, 0.07, -20.0)))
    mild = car(
        steady(-3.0, swing_k=2.0),
        fuel="diesel_b7",
        venting="capped",
        system="diesel",
        fuel_events=((150.0, "filled", 40.0, 0.07, 2.0),),
    )
    assert waxed(mild)  # an additive put in there now comes too late
    late = replace(
        mild, fuel_events=events((150.0, "filled", 40.0, 0.07, 2.0), (3.0, "cold_additive", NAN, NAN))
    )
    assert waxed(late)


def test_an_additive_put_in_while_the_diesel_is_clear_lowers_where_it_plugs_once():
    bought = (150.0, "filled", 40.0, 0.07, -12.0)
    plain, once, twice = (
        fuel_outlook(diesel(bought, *dosed), TODAY, POLICY).now.state.plugs_c[1, 0]
        for dosed in ((), ((100.0, "cold_additive", NAN, NAN),), ((100.0, "cold_additive", NAN, NAN),) * 2)
    )
    assert (plain, once, twice) == (-12.0, -20.0, -20.0)


def test_the_explanation_of_diesel_names_what_to_do_before_the_cold_and_in_it():
    text = fuel_change.explain(diesel((150.0, "filled", 40.0, 0.07)), TODAY, POLICY).summary
    assert "once tank and filter are warm" in text
    early = diesel((150.0, "filled", 40.0, 0.07))
    before = fuel_change.explain(early, TODAY - 100, POLICY).summary
    assert "put an additive in" in before


def test_summer_e85_in_winter_starts_hard_and_asks_for_no_change():
    summer, winter = (full(days, fuel="petrol_e85", bio=0.70) for days in (120.0, 2.0))
    assert limit_of(change(summer)) != "summer E85 carried into winter"
    assert "hard starts" in fuel_change.explain(summer, TODAY, POLICY).summary
    assert "hard starts" not in fuel_change.explain(winter, TODAY, POLICY).summary


def test_ethanol_in_a_glass_fibre_tank_is_due_from_the_filling():
    grp = np.array([TANK_MATERIALS.index("grp")])
    window = change(full(10.0, tank_material=grp))
    assert limit_of(window) == "ethanol in a glass-fibre tank"
    assert window.due[0] == TODAY - 10
    assert "without ethanol" in fuel_change.explain(full(10.0, tank_material=grp), TODAY, POLICY).summary
    assert limit_of(change(full(10.0, bio=0.0, tank_material=grp))) == "gum from oxidation"


def test_a_trapped_tank_is_due_from_the_day_it_separated():
    damp = steady(10.0, rh_pct=95.0, swing_k=16.0)
    history = ((1400.0, "filled", 8.0, 0.10), (40.0, "added", 30.0, 0.0))
    tank = car(damp, fuel="petrol_e10", venting="open", system="carburettor", fuel_events=history)
    window = change(tank)
    assert limit_of(window) == "water dropping out"
    assert window.due[0] == TODAY - 40
    assert stabiliser.HOLDS[treat(tank).hold[0]] == "stabiliser cannot restore separated fuel: drain it"


def test_an_empty_tank_has_no_dates():
    empty = full(50.0, VALLEY, 40.0, 0.05, (10.0, "drained", NAN, NAN))
    for window in (change(empty), treat(empty)):
        assert np.isnan(window.due[0])
        assert window.hold[0] == NOT_HELD


def test_a_car_of_which_nothing_is_known_still_gets_dates_marked_as_assumed():
    silent = car(VALLEY, fuel=None, venting=None, tank=NAN, system=None)
    window = change(silent)
    assert not np.isnan(window.due[0])
    assert window.assumed[0]
    known = change(full(183.0, VALLEY, 30.0, venting="capped"))
    assert window.late[0] - window.early[0] > known.late[0] - known.early[0]
    assert not known.assumed[0]


def test_fresh_petrol_is_to_be_treated_before_a_quarter_of_its_life():
    window = treat(full(1.0, steady(20.0)))
    assert window.hold[0] == NOT_HELD
    assert window.due[0] - TODAY == pytest.approx(1.5 * MONTH - 1, abs=1.5)
    assert window.late[0] - TODAY == pytest.approx(3 * MONTH - 1, abs=1.5)


@pytest.mark.parametrize(
    ("days_ago", "more", "reason"),
    [
        (4 * MONTH, (), "the fuel is too old for stabiliser to serve: plan to change it"),
        (8 * MONTH, (), "stabiliser cannot restore stale fuel: drain it"),
        (20.0, ((19.0, "stabilised", NAN, NAN),), "already treated: next comes a change of fuel"),
    ],
)
def test_stabiliser_is_held_with_its_reason_and_keeps_its_dates(days_ago, more, reason):
    window = treat(full(days_ago, steady(20.0), 57.0, 0.05, *more))
    assert stabiliser.HOLDS[window.hold[0]] == reason
    assert not np.isnan(window.due[0])


def test_a_treated_tank_is_next_due_when_its_treated_life_ends():
    tank = full(20.0, steady(20.0), 57.0, 0.05, (20.0, "stabilised", NAN, NAN))
    assert treat(tank).due[0] == pytest.approx(change(tank).due[0])
    assert change(tank).due[0] > change(full(20.0, steady(20.0))).due[0] + 150


def test_diesel_is_not_treated_against_gum():
    assert np.isnan(treat(full(20.0, fuel="diesel_b7", system="diesel", bio=0.07)).due[0])


TANKS = st.tuples(
    st.floats(2.0, 57.0),
    st.sampled_from(["petrol_e0", "petrol_e5", "petrol_e10"]),
    st.sampled_from(["open", "capped", "sealed"]),
    st.integers(0, 60),
)


def gum_and_light_ends(place, tank):
    litres, fuel, venting, days_ago = tank
    fleet = full(float(days_ago), place, litres, NAN, fuel=fuel, venting=venting)
    outlook = fuel_change.fuel_outlook(fleet, TODAY, POLICY)
    return outlook.days[[OXIDATION, LIGHT_ENDS], :, 0]


@settings(max_examples=25, deadline=None)
@given(TANKS, st.floats(0.0, 15.0), st.floats(0.5, 10.0))
def test_a_warmer_place_never_makes_fuel_last_longer(tank, warmer_k, more_k):
    """Gum and lighter parts; a warmer winter does hold more water dissolved and wax diesel later."""
    cool, warm = (gum_and_light_ends(valley(warmer_k=by), tank) for by in (warmer_k, warmer_k + more_k))
    assert (np.nan_to_num(warm, nan=np.inf) <= np.nan_to_num(cool, nan=np.inf) + 1e-6).all()


@settings(max_examples=25, deadline=None)
@given(TANKS, st.floats(0.1, 20.0))
def test_a_fuller_tank_never_spoils_sooner(tank, more_l):
    litres, fuel, venting, days_ago = tank
    windows = [
        change(full(float(days_ago), VALLEY, size, 0.0, fuel=fuel, venting=venting))
        for size in (litres, min(litres + more_l, 60.0))
    ]
    emptier, fuller = (np.nan_to_num(window.due[0], nan=np.inf) for window in windows)
    assert fuller >= emptier - 1e-6


@settings(max_examples=20, deadline=None)
@given(st.lists(TANKS, min_size=2, max_size=5))
def test_a_fleets_windows_are_each_cars_own(tanks):
    places = (valley("open"), VALLEY, steady(25.0, 80.0, "open", 12.0))
    cars = [
        full(float(ago), places[row % 3], litres, NAN, fuel=fuel, venting=venting)
        for row, (litres, fuel, venting, ago) in enumerate(tanks)
    ]
    for duty in (change, treat):
        whole = duty(together(*cars))
        for row, one in enumerate(cars):
            alone = duty(one)
            for name in ("early", "due", "late", "limit", "hold", "assumed"):
                expected = getattr(alone, name)[0]
                assert getattr(whole, name)[row] == pytest.approx(expected, abs=1e-5, nan_ok=True), name


def test_an_empty_barn_has_no_dates_and_no_errors():
    for duty in DUTIES:
        if duty.name in ("run_up", "stabiliser", "fuel_change"):
            assert len(duty.window(blank(0, VALLEY), TODAY, POLICY).due) == 0


def test_the_three_duties_are_in_the_table():
    assert {"run_up", "stabiliser", "fuel_change"} <= {duty.name for duty in DUTIES}


def test_blocks_of_cars_change_nothing(monkeypatch):
    tanks = [full(float(ago), VALLEY, 20.0 + ago / 10) for ago in range(0, 100, 20)]
    whole = change(together(*tanks))
    for module in (fuel_events, fuel_limits):
        monkeypatch.setattr(module, "BLOCK", 2)
    blocks = change(together(*tanks))
    assert blocks.due.tolist() == whole.due.tolist()
    assert blocks.limit.tolist() == whole.limit.tolist()


def test_the_outlook_is_worked_out_anew_for_another_fleet_day_or_policy():
    fleet = full(20.0, steady(20.0))
    first = treat(fleet).due[0]
    assert treat(replace(fleet, tank_litres=np.array([600.0]), venting=np.array([0]))).due[0] < first
    sooner = stabiliser.window(fleet, TODAY, replace(POLICY, stabilise_by_life=0.1))
    assert sooner.due[0] < first
    assert treat(fleet).due[0] == first


def test_the_explanation_shows_the_numbers_their_sources_and_what_is_assumed():
    reason = fuel_change.explain(car(VALLEY, fuel=None, venting=None, tank=NAN, system=None), TODAY, POLICY)
    assert any("not recorded" in words for words in reason.assumptions)
    labels = {step.label for step in reason.steps}
    assert labels >= {"gum from oxidation", "lighter parts lost", "water dropping out"}
    assert all(source.standing for source in reason.sources)
    assert any("6 months at 20 °C" in source.text for source in reason.sources)


def test_stale_fuel_is_said_to_be_drained_with_its_caution():
    reason = fuel_change.explain(full(8 * MONTH, steady(20.0)), TODAY, POLICY)
    assert "Drain it" in reason.summary
    assert "no flame" in reason.summary
    assert "cannot restore" in stabiliser.explain(full(8 * MONTH, steady(20.0)), TODAY, POLICY).summary


def test_diesel_and_empty_tanks_are_explained_in_their_own_words():
    diesel = full(120.0, fuel="diesel_b7", system="diesel", bio=0.07)
    assert "gum" in fuel_change.explain(diesel, TODAY, POLICY).summary
    assert "free of water" in stabiliser.explain(diesel, TODAY, POLICY).summary
    empty = full(50.0, VALLEY, 40.0, 0.05, (10.0, "drained", NAN, NAN))
    assert "empty" in fuel_change.explain(empty, TODAY, POLICY).summary
    assert "empty" in stabiliser.explain(empty, TODAY, POLICY).summary


def test_a_fresh_tank_is_told_when_to_treat_and_how_long_to_drive():
    reason = stabiliser.explain(full(2.0, steady(20.0)), TODAY, POLICY)
    assert "best treated by" in reason.summary
    assert any("9 min driving, 68 min idling" in step.worked for step in reason.steps)


def test_an_explanation_is_for_one_car():
    pair = together(full(2.0), full(3.0))
    with pytest.raises(BadInput, match="fleet"):
        fuel_change.explain(pair, TODAY, POLICY)


def test_the_band_follows_the_record_from_filling_to_filling():
    tank = full(6 * MONTH, steady(20.0), 57.0, 0.05, (3 * MONTH, "filled", 57.0, 0.05))
    days = TODAY + np.array([-200.0, -3.1 * MONTH, -3 * MONTH, 0.0, 3 * MONTH])
    band = fuel_change.band(tank, days, POLICY)
    assert band.likely[1] == pytest.approx(2.9 / 6, abs=0.01)
    assert band.likely[2:] == pytest.approx([0.0, 0.5, 1.0], abs=0.01)
    assert (band.low[1:] <= band.likely[1:]).all()
    assert (band.likely[1:] <= band.high[1:]).all()
    assert ("stale", 1.0) in [(level.name, level.value) for level in band.levels]


def test_a_preserved_car_keeps_its_fuel_duties():
    tank = full(10.0, regime=np.array([REGIMES.index("preserved")]))
    assert change(tank).hold[0] == NOT_HELD
