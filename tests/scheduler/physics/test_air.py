"""Air, damp and parts that stand: properties, limits and refusals."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.physics.air.damp import (
    dampness,
    longest_spell,
    mould_likely,
    rh_band,
    wet_hours,
    wetness_class,
)
from scheduler.physics.air.surfaces import (
    dew_point_c,
    dry_margin_k,
    metal_c,
    saturation_hpa,
    sweating_hours,
    vapour_pressure_hpa,
)
from scheduler.physics.engine.standing_parts import STANDING_PARTS, asking_for_a_look, onset_days
from scheduler.vocabulary.errors import BadInput, OutOfRange

quick = settings(max_examples=40, deadline=None)
celsius, humidity = st.floats(-20, 40), st.floats(5, 100)


# air
@quick
@given(celsius, humidity)
def test_the_dew_point_is_never_above_the_air_and_meets_it_when_saturated(temp, rh):
    assert dew_point_c(temp, rh) <= temp + 1e-9
    assert dew_point_c(temp, 100) == pytest.approx(temp, abs=1e-9)


@quick
@given(celsius, humidity)
def test_a_surface_at_the_dew_point_has_no_margin(temp, rh):
    dew = dew_point_c(temp, rh)
    if dew > -45:
        assert dry_margin_k(temp, rh, dew) == pytest.approx(0, abs=1e-9)


@quick
@given(celsius, humidity, st.floats(0.1, 10))
def test_warmer_air_holds_more_water(temp, rh, more):
    assert vapour_pressure_hpa(temp + more, rh) > vapour_pressure_hpa(temp, rh)
    assert saturation_hpa(temp + more) > saturation_hpa(temp)


@pytest.mark.parametrize(
    ("call", "argument"),
    [
        (lambda: dew_point_c(-60, 50), "temp_c"),
        (lambda: dew_point_c(np.nan, 50), "temp_c"),
        (lambda: dew_point_c(20, 0), "rh_pct"),
        (lambda: dew_point_c(20, 101), "rh_pct"),
        (lambda: metal_c([]), "air_c_hourly"),
        (lambda: metal_c([1.0], 0), "lag_hours"),
        (lambda: dry_margin_k(20, 50, 80), "surface_c"),
    ],
)
def test_air_outside_the_formula_is_refused_by_name(call, argument):
    with pytest.raises(BadInput, match=argument):
        call()


def test_a_door_opened_to_mild_wet_air_wets_cold_metal():
    assert dew_point_c(14, 85) == pytest.approx(11.52, abs=0.01)
    assert dry_margin_k(14, 85, 6) == pytest.approx(-5.52, abs=0.01)


def test_metal_follows_the_air_a_day_behind():
    air = np.concatenate([np.zeros(48), np.full(240, 10.0)])
    metal = metal_c(air)
    assert metal[47] == pytest.approx(0)
    assert metal[47 + 24] == pytest.approx(10 * (1 - np.exp(-1)), abs=0.01)
    assert metal[-1] == pytest.approx(10, abs=0.01)
    assert (np.diff(metal) >= -1e-12).all()


def test_metal_agrees_with_a_step_by_step_reckoning():
    air = np.random.default_rng(3).normal(5, 6, 500)
    keep, metal = np.exp(-1 / 24), [air[0]]
    for hour in air[1:]:
        metal.append(keep * metal[-1] + (1 - keep) * hour)
    np.testing.assert_allclose(metal_c(air), metal, atol=0.01)


def test_a_warm_wet_day_after_a_frost_makes_metal_sweat():
    air = np.concatenate([np.full(72, -5.0), np.full(24, 9.0)])
    humid = np.concatenate([np.full(72, 80.0), np.full(24, 90.0)])
    assert not sweating_hours(air, humid)[:72].any()
    assert sweating_hours(air, humid)[72:90].all()


# damp
def test_wet_hours_are_above_80_per_cent_and_above_freezing():
    assert wet_hours([1, 0, 5, 5], [81, 90, 80, 95]).tolist() == [True, False, False, True]
    assert wetness_class([0, 10, 11, 250, 2500, 5500, 5501]).tolist() == [1, 1, 2, 2, 3, 4, 5]


def test_damp_days_are_those_that_are_damp_and_not_frozen():
    assert dampness([5, 5, -1, 5], [80, 70, 90, 76]).tolist() == pytest.approx([1.0, 0.0, 0.0, 0.6])
    with pytest.raises(BadInput, match="rh_pct"):
        dampness([5.0], [80.0, 70.0])
    with pytest.raises(BadInput, match="temp_c"):
        dampness([np.nan], [80.0])


@quick
@given(st.lists(st.booleans(), max_size=60))
def test_the_longest_spell_is_what_counting_gives(flags):
    longest = max((len(run) for run in "".join("x" if f else " " for f in flags).split()), default=0)
    assert longest_spell(flags) == longest


def test_mould_needs_weeks_of_damp_or_days_of_wet():
    assert not mould_likely([12] * 27, [78] * 13 + [60] + [78] * 13)
    assert mould_likely([12] * 14, [78] * 14)
    assert not mould_likely([1] * 14, [78] * 14)
    assert mould_likely([12] * 5, [60, 82, 83, 81, 60])
    assert rh_band([30, 50, 62, 70, 78, 90]).tolist() == [0, 1, 2, 3, 4, 5]


# parts that stand
@quick
@given(st.floats(0, 1), st.floats(0, 1))
def test_damp_never_puts_a_look_off_and_keeps_within_the_published_range(one, other):
    onset = onset_days([max(one, other), min(one, other)])
    assert (onset[0] <= onset[1] + 1e-9).all()
    low, high = (np.array([part.onset.range[end] for part in STANDING_PARTS]) for end in (0, 2))
    assert (onset >= low - 1e-6).all()
    assert (onset <= high + 1e-6).all()


def test_longer_standing_asks_for_more_looks():
    looks = asking_for_a_look([0, 30, 200, 5000], [0.5] * 4).sum(axis=1)
    assert looks[0] == 0
    assert (np.diff(looks) >= 0).all()
    assert looks[-1] == len(STANDING_PARTS)


def test_every_part_says_what_to_do_and_its_caution():
    for part in STANDING_PARTS:
        assert part.look.endswith(".")
        assert part.caution.endswith(".")
    with pytest.raises(OutOfRange, match="damp_share"):
        onset_days(1.5)
    with pytest.raises(BadInput, match="standing_days"):
        asking_for_a_look(np.nan, 0.5)


def test_there_is_no_cliff_at_the_line_of_damp():
    humid = np.linspace(60.0, 95.0, 141)
    damp = dampness(np.full(humid.size, 8.0), humid)
    assert (np.diff(damp) >= 0).all()
    assert np.diff(damp).max() < 0.05
    cold = dampness(np.linspace(-3.0, 5.0, 81), np.full(81, 90.0))
    assert np.diff(cold).max() <= 0.06
