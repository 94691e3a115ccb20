"""A place's air: smooth from its normals, damped by its shelter, its own hours where it has them."""

from datetime import date

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.physics import climate
from scheduler.physics.climate import coldest
from scheduler.physics.climate.shelter import SPELL_HOURS, spell_share, through_walls
from scheduler.vocabulary.errors import BadInput, OutOfRange

FIRST = date(2025, 1, 1).toordinal()
MEAN = np.array([-2, -1, 3, 8, 13, 17, 19, 18, 14, 8, 3, -1], float)
NORMALS = {"mean_c": MEAN, "min_c": MEAN - 5, "max_c": MEAN + 6, "rh_pct": np.full(12, 80.0)}


def place(shelter="open", days=730, first=FIRST, **changes):
    return climate.from_normals("valley", shelter, **{**NORMALS, "first_day": first, "days": days, **changes})


monthly = st.lists(st.floats(-25, 35), min_size=12, max_size=12).map(np.array)


@settings(max_examples=40, deadline=None)
@given(monthly, st.floats(0, 12), st.floats(0, 12), st.floats(5, 100), st.sampled_from(climate.SHELTERS))
def test_any_normals_give_ordered_days_and_humidity_between_0_and_100(mean, below, above, rh, shelter):
    here = climate.from_normals("x", shelter, mean, mean - below, mean + above, np.full(12, rh), FIRST, 365)
    temp_c, rh_pct = climate.courses(here)
    assert (here.min_c <= here.mean_c + 1e-9).all()
    assert (here.mean_c <= here.max_c + 1e-9).all()
    assert ((rh_pct >= 0) & (rh_pct <= 100)).all()
    assert ((here.rh_pct >= 0) & (here.rh_pct <= 100)).all()
    assert np.isfinite(temp_c).all()


@settings(max_examples=40, deadline=None)
@given(monthly)
def test_monthly_means_are_kept_exactly_by_smoothing(mean):
    here = climate.from_normals("x", "open", mean, mean - 5, mean + 5, np.full(12, 70.0), FIRST, 365)
    months = np.array([date.fromordinal(FIRST + i).month for i in range(365)])
    kept = [here.mean_c[months == month].mean() for month in range(1, 13)]
    assert kept == pytest.approx(mean, abs=1e-6)


def test_the_course_has_no_jumps_even_over_a_leap_year():
    here = place(days=4 * 365)
    assert np.abs(np.diff(here.mean_c)).max() < 0.4


def test_a_days_course_keeps_its_mean_least_and_greatest():
    temp_c, _ = climate.courses(place())
    here = place()
    assert temp_c.mean(axis=1) == pytest.approx(here.mean_c)
    assert temp_c.max(axis=1) == pytest.approx(here.max_c)
    assert temp_c.min(axis=1) == pytest.approx(here.min_c)


def test_the_warmest_hour_is_mid_afternoon_outside_and_later_inside():
    outside, _ = climate.hourly(place(), FIRST + 200)
    inside, _ = climate.hourly(place("enclosed"), FIRST + 200)
    assert outside.argmax() == 15
    assert outside.argmax() < inside.argmax() <= 20


def test_more_shelter_means_less_swing():
    swings = [np.ptp(climate.hourly(place(kind), FIRST + 200)[0]) for kind in ("open", "covered", "enclosed")]
    assert swings[0] > swings[1] > swings[2] > 0


def test_relative_humidity_falls_as_the_day_warms():
    temp_c, rh_pct = climate.hourly(place(rh_pct=np.full(12, 60.0)), FIRST + 200)
    assert np.corrcoef(temp_c, rh_pct)[0, 1] < -0.95
    vapour = climate.saturation_pressure_hpa(temp_c) * rh_pct
    assert vapour == pytest.approx(np.full(24, vapour.mean()))


def test_a_heated_building_never_falls_below_its_set_point_and_is_drier_in_winter():
    warm, cold = place("heated", heated_to_c=12.0), place("enclosed")
    assert warm.min_c.min() == 12.0
    assert climate.coldest(warm, 15.0).min() == 12.0
    assert warm.rh_pct[:31].mean() < cold.rh_pct[:31].mean() - 20
    assert warm.mean_c[180:200] == pytest.approx(cold.mean_c[180:200], abs=1.0)


def test_a_heated_building_without_set_point_takes_the_default():
    assert place("heated").min_c.min() == 10.0


def test_humidity_control_holds_its_ceiling_at_every_hour():
    _, rh_pct = climate.courses(place("humidity_controlled", rh_ceiling_pct=50.0))
    assert rh_pct.max() <= 50.0


def test_the_total_of_a_steady_rate_is_the_days():
    total = climate.cumulative(place(days=400), lambda temp_c: np.ones_like(temp_c))
    assert total == pytest.approx(np.arange(401.0))


def test_the_total_is_the_mean_of_the_rate_and_not_the_rate_of_the_mean():
    """A sinusoid of 10 K around 10 °C doubles each 10 K to 0.3973 of the rate at 25 °C, not 0.3536."""
    flat = np.full(12, 10.0)
    here = climate.from_normals("x", "open", flat, flat - 10, flat + 10, np.full(12, 70.0), FIRST, 1)
    total = climate.cumulative(here, lambda temp_c: 2.0 ** ((temp_c - 25.0) / 10.0))
    assert total[-1] == pytest.approx(0.3973, abs=5e-5)


def test_own_hours_replace_only_the_days_they_cover():
    day = FIRST + 10 + np.arange(48) / 24
    seen = climate.observed(place(), day, np.full(48, 25.0), np.full(48, 40.0))
    assert (seen.mean_c[10:12] == 25.0).all()
    assert seen.mean_c[9] == place().mean_c[9]
    assert (climate.hourly(seen, FIRST + 11)[1] == 40.0).all()
    assert climate.coldest(seen, 10.0)[10] == 25.0


@pytest.mark.parametrize("shelter", ["covered", "enclosed", "heated"])
def test_outdoor_hours_are_seen_through_the_walls_as_the_normals_are(shelter):
    """The same shelter answers a sinusoid alike, whether it comes as normals or hour by hour."""
    dry = np.full(12, 60.0)  # no fog outside, whose water the normals' way would not know
    here, outside = place(shelter, heated_to_c=-40.0, rh_pct=dry), place(rh_pct=dry)
    temp_c, rh_pct = climate.courses(outside)
    day = FIRST + np.arange(60 * 24) / 24
    seen = climate.observed(here, day, temp_c[:60].ravel(), rh_pct[:60].ravel(), outdoors=True)
    for usual, through in zip(
        climate.hourly(here, FIRST + 50), climate.hourly(seen, FIRST + 50), strict=True
    ):
        assert through == pytest.approx(usual, abs=1.5)
    assert seen.max_c[50] - seen.min_c[50] == pytest.approx(here.max_c[50] - here.min_c[50], rel=0.05)


def test_heating_and_drying_hold_for_outdoor_hours_too():
    here = place("humidity_controlled", heated_to_c=8.0, rh_ceiling_pct=50.0)
    day = FIRST + np.arange(48) / 24
    seen = climate.observed(here, day, np.full(48, -10.0), np.full(48, 95.0), outdoors=True)
    temp_c, rh_pct = climate.hourly(seen, FIRST)
    assert (temp_c == 8.0).all()
    assert (rh_pct <= 50.0).all()


def test_records_every_ten_minutes_are_averaged_and_short_gaps_bridged():
    day = FIRST + np.arange(144) / 144
    temp_c = np.repeat(np.arange(24.0), 6)
    kept = (day - FIRST < 10 / 24) | (day - FIRST >= 13 / 24)
    seen = climate.observed(place(), day[kept], temp_c[kept], np.full(kept.sum(), 50.0))
    assert climate.hourly(seen, FIRST)[0] == pytest.approx(np.arange(24.0))


def test_a_day_with_too_few_hours_keeps_its_normals():
    day = FIRST + np.arange(12) / 24
    seen = climate.observed(place(), day, np.full(12, 30.0), np.full(12, 50.0))
    assert seen.mean_c == pytest.approx(place().mean_c)


def test_a_logger_without_humidity_keeps_the_normal_humidity():
    day = FIRST + np.arange(24) / 24
    seen = climate.observed(place(), day, climate.hourly(place(), FIRST)[0], np.full(24, np.nan))
    assert climate.hourly(seen, FIRST)[1] == pytest.approx(climate.hourly(place(), FIRST)[1])


def test_newer_hours_replace_older_ones():
    day = FIRST + np.arange(24) / 24
    once = climate.observed(place(), day, np.full(24, 5.0), np.full(24, 50.0))
    twice = climate.observed(once, day, np.full(24, 7.0), np.full(24, 50.0))
    assert twice.seen.size == 1
    assert climate.hourly(twice, FIRST)[0] == pytest.approx(np.full(24, 7.0))


def test_a_cut_place_keeps_its_own_hours_where_they_were():
    day = FIRST + 10 + np.arange(24) / 24
    seen = climate.observed(place(), day, np.full(24, 25.0), np.full(24, 40.0))
    assert climate.hourly(climate.span(seen, FIRST + 5, FIRST + 20), FIRST + 10)[0] == pytest.approx(
        [25.0] * 24
    )


def test_totals_kept_by_blocks_are_those_of_the_span_itself():
    first, end = FIRST + 3, FIRST + 2500
    kept = climate.totals([place(days=3000), place("enclosed", days=3000)], np.exp, first, end)
    whole = [
        climate.cumulative(climate.span(place(kind, days=3000), first, end), np.exp)
        for kind in ("open", "enclosed")
    ]
    np.testing.assert_allclose(kept, whole, rtol=1e-12)


def test_totals_beyond_a_place_are_refused():
    with pytest.raises(BadInput, match="day"):
        climate.totals([place(days=10)], np.exp, FIRST, FIRST + 11)


@pytest.mark.parametrize(
    ("change", "named"),
    [
        ({"mean_c": MEAN[:11]}, "mean_c"),
        ({"mean_c": np.where(MEAN > 18, np.nan, MEAN)}, "mean_c"),
        ({"mean_c": MEAN + 20}, "mean_c"),
        ({"min_c": MEAN - 200}, "min_c"),
        ({"rh_pct": np.full(12, 101.0)}, "rh_pct"),
        ({"shelter": "tent"}, "shelter"),
        ({"days": 0}, "days"),
    ],
)
def test_a_wrong_normal_is_named(change, named):
    with pytest.raises(BadInput, match=f"^{named}"):
        place(**change)


def test_a_temperature_no_air_ever_has_gives_its_limits():
    with pytest.raises(OutOfRange, match=r"is outside -90 to 60"):
        place(max_c=MEAN + 60)


@pytest.mark.parametrize(
    ("day", "temp_c", "rh_pct", "named"),
    [
        ([], [], [], "day"),
        ([2.0, 1.0], [0, 0], [50, 50], "day"),
        ([1.0, np.nan], [0, 0], [50, 50], "day"),
        ([1.0, 2.0], [0, np.nan], [50, 50], "temp_c"),
        ([1.0, 2.0], [0, -300.0], [50, 50], "temp_c"),
        ([1.0, 2.0], [0, 0], [50, 101], "rh_pct"),
        ([1.0, 2.0], [0, 0], [50], "rh_pct"),
    ],
)
def test_a_wrong_record_is_named(day, temp_c, rh_pct, named):
    with pytest.raises(BadInput, match=f"^{named}"):
        climate.observed(place(), day, temp_c, rh_pct)


def test_a_day_outside_the_place_is_named():
    with pytest.raises(BadInput, match=r"^day"):
        climate.hourly(place(days=10), FIRST + 10)


@pytest.mark.parametrize("shelter", ["covered", "enclosed", "heated"])
def test_as_much_of_a_cold_spell_comes_through_as_a_first_order_body_lets(shelter):
    """Hour by hour: a day and a night ten kelvin colder, at whose end it is coldest inside."""
    outside = np.concatenate([np.zeros(200), np.full(int(SPELL_HOURS.value), -10.0), np.zeros(48)])
    coldest_inside = through_walls(shelter, outside).min()
    assert coldest_inside == pytest.approx(
        -10.0 * spell_share(shelter), abs=0.45
    )  # hours are coarse against tau


@pytest.mark.parametrize(
    ("tau_h", "days", "k"), [(12, 1, -13.0), (12, 3, -15.0), (48, 1, -5.9), (48, 3, -11.7), (48, 7, -14.5)]
)
def test_a_long_frost_fills_a_building(tau_h, days, k):
    """The trade's figures for a drop of 15 K, computed there from the same law; see facts of the building."""
    assert 15.0 * np.expm1(-24.0 * days / tau_h) == pytest.approx(k, abs=0.1)


def test_nothing_inside_is_colder_than_outside_in_a_surprise_night():
    places = [place(kind) for kind in climate.SHELTERS[:4]]
    open_air, covered, enclosed, heated = (coldest(place, 10.0) for place in places)
    assert (open_air <= covered + 0.3).all()
    assert (covered <= enclosed + 0.3).all()
    assert heated.min() >= 10.0
    assert enclosed.min() < -13.0  # light walls hold a surprise night off hardly at all
