"""What is in each tank: fuel events folded in order, the same for one car as for a fleet."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.duties.conditions import FUEL_EVENTS, FuelEvents
from scheduler.duties.fuel.events import fuel_now
from scheduler.duties.fuel.state import advance
from scheduler.duties.policy import Policy
from scheduler.vocabulary.errors import BadInput
from tests.scheduler.fuel_cars import TODAY, car, events, steady, together, valley

POLICY = Policy()
NAN = np.nan
AT_20 = steady(20.0)
MONTH = 365.2425 / 12
LIKELY = 1


def today_state(fleet):
    now = fuel_now(fleet, TODAY, POLICY)
    return advance(now.state, now.tanks, now.air, np.full(len(fleet), TODAY))


def with_events(*each, place=AT_20, **columns):
    return car(place, fuel_events=each, **columns)


def test_three_months_at_20_c_use_half_of_six():
    state = today_state(with_events((3 * MONTH, "filled", 57.0, 0.05)))
    assert state.used[LIKELY, 0] == pytest.approx(0.5)
    assert state.used[:, 0].tolist() == sorted(state.used[:, 0])


def test_topping_up_thins_the_age_and_mixes_the_blend():
    filled, added = (3 * MONTH, "filled", 20.0, 0.10), (0.0, "added", 20.0, 0.0)
    state = today_state(with_events(filled, added))
    assert state.litres[0] == 40.0
    assert state.bio[0] == pytest.approx(0.05)
    assert state.used[LIKELY, 0] == pytest.approx(0.25)
    assert state.filled[0] == pytest.approx(TODAY - 1.5 * MONTH)


def test_filling_starts_afresh_and_draining_leaves_an_empty_tank():
    old = (200.0, "filled", 50.0, 0.05)
    fresh = today_state(with_events(old, (0.0, "filled", 40.0, 0.05)))
    assert (fresh.litres[0], fresh.used[LIKELY, 0]) == (40.0, 0.0)
    assert today_state(with_events(old, (10.0, "drained", NAN, NAN))).litres[0] == 0.0
    assert today_state(with_events(old, (10.0, "drained", 20.0, NAN))).litres[0] == pytest.approx(30.0)


def test_treating_keeps_what_is_used_and_slows_what_remains():
    filled = (2 * MONTH, "filled", 57.0, 0.05)
    plain = today_state(with_events(filled))
    treated = today_state(with_events(filled, (MONTH, "stabilised", NAN, NAN)))
    assert plain.used[LIKELY, 0] == pytest.approx(1 / 3)
    assert treated.used[LIKELY, 0] == pytest.approx(1 / 6 + 1 / 12)
    assert treated.treated[0] == 1.0


def test_a_dose_in_stale_fuel_is_wasted():
    state = today_state(with_events((8 * MONTH, "filled", 57.0, 0.05), (MONTH, "stabilised", NAN, NAN)))
    assert state.wasted[0]
    assert state.treated[0] == 0.0


def test_fresh_fuel_on_treated_fuel_is_untreated_in_part():
    treated = ((40.0, "filled", 20.0, 0.05), (40.0, "stabilised", NAN, NAN), (0.0, "added", 20.0, 0.05))
    assert today_state(with_events(*treated)).treated[0] == pytest.approx(0.5)


def test_damp_e10_topped_up_with_e0_separates_and_a_drained_tank_forgets_it():
    damp = steady(10.0, rh_pct=95.0, swing_k=16.0)
    stood = (1400.0, "filled", 8.0, 0.10)
    columns = {"fuel": "petrol_e10", "venting": "open", "system": "carburettor", "place": damp}
    alone = today_state(with_events(stood, (1.0, "added", 8.0, 0.10), **columns))
    leaner = today_state(with_events(stood, (1.0, "added", 30.0, 0.0), **columns))
    assert not alone.separated[0]
    assert leaner.separated[0]
    refilled = with_events(stood, (2.0, "added", 30.0, 0.0), (1.0, "filled", 30.0, 0.0), **columns)
    assert not today_state(refilled).separated[0]


def test_an_unrecorded_tank_is_half_full_since_the_last_road_use_and_says_so():
    silent = with_events(last_road_use=np.array([TODAY - 100.0]))
    now = fuel_now(silent, TODAY, POLICY)
    assert now.state.since[0] == TODAY - 100.0
    assert now.state.litres[0] == 30.0
    assert now.state.assumed[0]
    assert not now.state.recorded[0]


def test_fuel_of_unknown_age_counts_as_half_a_year_old():
    now = fuel_now(with_events(), TODAY, POLICY)
    assert TODAY - now.state.since[0] == pytest.approx(183.0)


def test_events_after_today_do_not_count_yet():
    later = with_events((30.0, "filled", 50.0, 0.05), (-5.0, "drained", NAN, NAN))
    assert today_state(later).litres[0] == 50.0


def test_events_out_of_order_or_without_a_day_are_refused():
    with pytest.raises(BadInput, match=r"fuel_events\.day"):
        fuel_now(with_events((10.0, "filled", 50.0, 0.05), (20.0, "added", 5.0, 0.05)), TODAY, POLICY)
    with pytest.raises(BadInput, match=r"fuel_events\.day"):
        fuel_now(with_events((NAN, "filled", 50.0, 0.05)), TODAY, POLICY)


EVENT = st.tuples(
    st.integers(0, 900),
    st.sampled_from(FUEL_EVENTS),
    st.one_of(st.just(NAN), st.floats(0.0, 30.0)),
    st.one_of(st.just(NAN), st.floats(0.0, 0.15)),
)
HISTORY = st.lists(EVENT, max_size=5).map(lambda each: tuple(sorted(each, key=lambda one: -one[0])))
PLACES = (valley("open"), valley("enclosed"), steady(25.0, 80.0, "open", 12.0))
ONE_CAR = st.tuples(
    st.sampled_from(PLACES),
    st.sampled_from(["petrol_e0", "petrol_e10", "petrol_e85", "diesel_b7", None]),
    st.sampled_from(["open", "capped", "sealed", None]),
    HISTORY,
)


def built(place, fuel, venting, history):
    return car(place, fuel=fuel, venting=venting, fuel_events=history)


@settings(max_examples=25, deadline=None)
@given(st.lists(ONE_CAR, min_size=2, max_size=4))
def test_a_fleet_gives_every_car_what_it_gets_alone(given_cars):
    cars = [built(*one) for one in given_cars]
    fleet = today_state(together(*cars))
    for row, one in enumerate(cars):
        alone = today_state(one)
        for name in vars(alone):
            expected = getattr(alone, name)[..., 0]
            assert getattr(fleet, name)[..., row] == pytest.approx(expected, rel=1e-6), name


@settings(max_examples=25, deadline=None)
@given(ONE_CAR)
def test_every_share_stays_within_its_bounds(one):
    state = today_state(built(*one))
    assert 0 <= state.litres[0] <= 60 + 30 * 5
    for share in (state.bio, state.treated, state.winter):
        assert 0 <= share[0] <= 1
    assert (state.used >= 0).all()
    assert (state.water_g >= 0).all()


def test_interleaved_events_of_two_cars_reach_their_own_tanks():
    pair = together(with_events((50.0, "filled", 40.0, 0.05)), with_events((60.0, "filled", 20.0, 0.10)))
    table = pair.fuel_events
    order = np.array([1, 0])
    mixed = FuelEvents(**{name: column[order] for name, column in vars(table).items()})
    assert today_state(replace(pair, fuel_events=mixed)).litres.tolist() == [40.0, 20.0]


def test_no_events_is_no_error():
    assert len(events().day) == 0
