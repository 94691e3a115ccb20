"""Loggers' rows: cleaned, thinned, made into normals; a battery's volts read for what they show."""

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from collection.host.zones import changes
from scheduler.duties.battery.charge.state import known_state
from scheduler.duties.policy import Policy
from scheduler.loggers import (
    clean,
    gaps_of,
    hours_of,
    joined,
    local_to_utc,
    monthly_of,
    monthly_of_place,
    read_stream,
)
from scheduler.loggers.hourly import Hours
from scheduler.physics.battery.batteries import BATTERIES
from scheduler.physics.battery.charge_state import VOLTS_SD, rested_volts
from scheduler.physics.battery.discharge import factor_days
from scheduler.physics.climate import cumulative, from_normals, hourly, observed
from scheduler.physics.fuel.oxidation import ageing_rate
from scheduler.physics.materials import position
from scheduler.vocabulary.errors import BadInput
from tests.scheduler.batteries import TODAY, cars, charged, read, steady

DAY_S = 86400.0
JANUARY = datetime(2025, 1, 1, tzinfo=UTC).timestamp()
EPOCH = date(1970, 1, 1).toordinal()


def cleaned(second, *columns, keep="mean"):
    value = np.array(columns, float)
    return clean(second, value, np.full(len(value), -60.0), np.full(len(value), 60.0), keep)


# cleaning


def test_the_same_moment_with_the_same_value_counts_once():
    out = cleaned([0, 60, 60, 120], [1, 2, 2, 3])
    assert out.second.tolist() == [0, 60, 120]
    assert out.value[0].tolist() == [1, 2, 3]
    assert (out.repeated.count, out.repeated.first, out.differing.count) == (1, 2, 0)


@pytest.mark.parametrize(("keep", "value"), [("mean", 3.0), ("first", 2.0)])
def test_the_same_moment_with_other_values_is_their_mean_or_the_first(keep, value):
    out = cleaned([0, 60, 60, 120], [1, 2, 4, 3], keep=keep)
    assert out.value[0].tolist() == [1, value, 3]
    assert (out.differing.count, out.differing.first) == (1, 2)


def test_a_clock_that_steps_back_is_told_and_the_rows_put_in_order():
    out = cleaned([0, 60, 120, 30, 90], [1, 2, 3, 4, 5])
    assert (out.backwards.count, out.backwards.first) == (1, 3)
    assert out.second.tolist() == [0, 30, 60, 90, 120]


def test_what_no_sensor_means_is_taken_out_and_told_by_column():
    out = cleaned([0, 60, 120], [1, 99, 3], [5, 6, 99])
    assert [fault.count for fault in out.outside] == [1, 1]
    assert np.isnan(out.value[0][1])
    assert np.isnan(out.value[1][2])
    assert out.second.size == 3


def test_a_sensor_that_stands_still_for_days_is_told():
    second = np.arange(0, 10 * DAY_S, 3600)
    value = np.sin(second)
    value[24 : 24 * 6] = 7.0
    assert np.allclose(cleaned(second, value).stuck, [[DAY_S, 6 * DAY_S - 3600]])


def test_a_gap_is_longer_than_the_logger_usually_waits():
    second = np.concatenate([np.arange(0, 6000, 60), np.arange(9000, 12000, 60)])
    assert gaps_of(second).tolist() == [[5940, 9000]]


def test_columns_that_do_not_fit_are_refused():
    with pytest.raises(BadInput, match="value"):
        clean([0, 1], [[1.0, 2.0, 3.0]], [0], [1])


@given(
    st.lists(st.tuples(st.integers(0, 50), st.floats(-100, 100) | st.just(float("nan"))), max_size=60),
    st.sampled_from(["mean", "first"]),
)
@settings(max_examples=60, deadline=None)
def test_whatever_comes_each_moment_stands_once_in_order_and_within_limits(rows, keep):
    second = np.array([60.0 * t for t, _ in rows])
    out = clean(second, np.array([[v for _, v in rows]]).reshape(1, -1), [-60], [60], keep)
    assert (np.diff(out.second) > 0).all()
    assert (np.abs(out.value) <= 60).all()
    good = {60.0 * t for t, v in rows if abs(v) <= 60}
    assert set(out.second.tolist()) == good


# thinning


def minutes_of_a_year():
    """A year of minutes: seasons, days, fronts over hours, and gusts of a few minutes (fixed chance)."""
    rng = np.random.default_rng(2026)
    second = JANUARY + 60.0 * np.arange(365 * 1440)
    day = (second - JANUARY) / DAY_S
    fronts = np.interp(day, np.arange(0, 366, 0.5), rng.normal(0, 3, 732))
    gusts = np.interp(second, second[::7], rng.normal(0, 0.7, second[::7].size))
    warm = 9 - 9 * np.cos(2 * np.pi * day / 365) - 6 * np.cos(2 * np.pi * (day - 0.125)) + fronts + gusts
    return second, warm


LOSSES = {3600.0: 0.0015, 3 * 3600.0: 0.005, DAY_S: 0.12}


@pytest.mark.parametrize("rate", [factor_days, ageing_rate], ids=["self-discharge", "fuel"])
def test_hours_lose_a_thousandth_of_what_minutes_tell_and_days_lose_percents(rate, capsys):
    """Why hours are kept: a year's total when the mean of a longer step stands for its minutes."""
    second, warm = minutes_of_a_year()
    true = rate(warm).mean()
    lost = {}
    for step, most in LOSSES.items():
        _, at = np.unique(np.floor((second - JANUARY) / step), return_inverse=True)
        mean = np.bincount(at, warm) / np.bincount(at)
        lost[step] = 1.0 - rate(mean).mean() / true
        assert 0 <= lost[step] < most
    assert lost[DAY_S] > 0.02  # a daily mean would be of no use
    with capsys.disabled():
        shares = ", ".join(f"{step / 3600:g} h: {100 * loss:.3f} %" for step, loss in lost.items())
        print(f"\n  {rate.__name__}: lost by keeping means of {shares}")  # noqa: T201 - the measure itself


def test_a_place_reckons_from_hours_what_it_would_from_minutes():
    second, warm = minutes_of_a_year()
    hours = hours_of(second, np.array([warm]))
    flat = np.full(12, 9.0)
    first = date(2025, 1, 1).toordinal()
    place = from_normals("logged", "open", flat, flat, flat, np.full(12, 70.0), first, 365)
    day = hours.hour / 24 + EPOCH
    seen = observed(place, day, hours.mean[0], np.full(day.size, np.nan))
    assert cumulative(seen, factor_days)[-1] == pytest.approx(factor_days(warm).mean() * 365, rel=1.5e-3)


def test_an_hour_keeps_its_extremes_and_says_how_much_of_it_is_covered():
    second = np.concatenate([np.arange(0, 3600, 60), np.arange(3600, 5400, 60)])
    value = np.arange(second.size, dtype=float)
    hours = hours_of(second, value[None, :])
    assert hours.hour.tolist() == [0, 1]
    assert (hours.least[0][0], hours.most[0][0], hours.mean[0][0]) == (0, 59, 29.5)
    assert hours.covered.tolist() == [1.0, 0.5]


def test_a_logger_of_three_hours_is_read_along_straight_lines_but_not_across_a_gap():
    second = np.array([0, 3, 6, 20, 23, 26]) * 3600.0
    hours = hours_of(second, np.array([[0.0, 3, 6, 20, 23, 26]]))
    assert hours.hour.tolist() == [0, 1, 2, 3, 4, 5, 6, 20, 21, 22, 23, 24, 25, 26]
    assert hours.mean[0].tolist() == hours.hour.tolist()


def one_column(hour, value, covered):
    column = np.array([value], float)
    return Hours(np.array(hour), column, column, column, np.array(covered, float))


def test_of_an_hour_told_twice_the_better_covered_stands_else_the_earlier_file():
    one = one_column([0, 1, 2], [1, 1, 1], [1, 0.5, 1])
    other = one_column([1, 2, 3], [2, 2, 2], [1, 1, 1])
    both = joined([one, other])
    assert both.hour.tolist() == [0, 1, 2, 3]
    assert both.mean[0].tolist() == [1, 2, 1, 2]
    again = joined([both, one, other])
    assert (again.hour.tolist(), again.mean.tolist()) == (both.hour.tolist(), both.mean.tolist())


# clocks


def test_every_moment_survives_being_shown_on_a_clock_with_summer_time():
    zone = ZoneInfo("Europe/London")
    for begin in (datetime(2025, 3, 28, tzinfo=UTC), datetime(2025, 10, 24, tzinfo=UTC)):
        second = begin.timestamp() + 600.0 * np.arange(5 * 144)
        shown = [datetime.fromtimestamp(s, zone).replace(tzinfo=UTC).timestamp() for s in second]
        utc = local_to_utc(np.array(shown), *changes("Europe/London", second[0], second[-1]))
        assert utc.second.tolist() == second.tolist()
        assert not utc.skipped.any()
        assert utc.twice.sum() == (12 if begin.month == 10 else 0)


def test_times_in_the_hour_that_summer_time_skips_are_told():
    local = datetime(2025, 3, 30, 1, 30, tzinfo=UTC).timestamp() + np.array([-3600.0, 0.0, 3600.0])
    utc = local_to_utc(local, *changes("Europe/London", local[0], local[-1]))
    assert utc.skipped.tolist() == [False, True, False]


# normals

BASE = np.array([np.arange(12.0), np.arange(12.0) - 4, np.arange(12.0) + 4, np.full(12, 80.0)])


def hours_of_days(days, warm=10.0):
    hour = np.concatenate([np.arange(24) + 24 * d for d in days])
    local_s = JANUARY + 3600.0 * hour
    mean = warm + 3 * np.cos(2 * np.pi * (hour % 24 - 15) / 24)
    return local_s, mean, mean - 0.5, mean + 0.5, np.full(hour.size, 60.0)


def test_a_month_counts_with_ten_days_missing_and_not_with_eleven():
    every_third = [d for d in range(31) if d % 3]
    assert (
        monthly_of(*hours_of_days(every_third[:21]), BASE).years[0] == 0
    )  # the last days are missing in a row
    assert monthly_of(*hours_of_days([d for d in range(31) if d % 3 or d == 0]), BASE).years[0] == 1
    assert monthly_of(*hours_of_days([d for d in range(31) if d % 3 and d != 1]), BASE).years[0] == 0


def test_a_month_does_not_count_with_five_days_missing_in_a_row():
    assert monthly_of(*hours_of_days([*range(10), *range(14, 31)]), BASE).years[0] == 1
    assert monthly_of(*hours_of_days([*range(10), *range(15, 31)]), BASE).years[0] == 0


def test_what_is_measured_is_its_own_and_the_rest_is_moved_by_the_mean_difference():
    monthly = monthly_of(*hours_of_days(range(59)), BASE)
    assert monthly.years.tolist() == [1, 1] + [0] * 10
    assert monthly.normals[0, :2] == pytest.approx([10, 10])
    assert monthly.normals[1, 0] == pytest.approx(6.5, abs=0.1)  # the least minute, not the least hour
    assert monthly.normals[2, 0] == pytest.approx(13.5, abs=0.1)
    shift = ((10 - 0) + (10 - 1)) / 2
    assert monthly.shift[0] == pytest.approx(shift)
    assert monthly.normals[0, 6] == pytest.approx(6 + shift)
    assert monthly.spread[0] == pytest.approx(np.std([10, 9], ddof=1))


def test_without_a_whole_month_the_normals_stay_as_they_were():
    monthly = monthly_of(*hours_of_days(range(5)), BASE)
    assert not monthly.measured.any()
    assert np.allclose(monthly.normals, BASE)


def test_without_humidity_the_former_stands():
    local_s, mean, least, most, _ = hours_of_days(range(59))
    monthly = monthly_of(local_s, mean, least, most, np.full(mean.size, np.nan), BASE)
    assert np.allclose(monthly.normals[3], BASE[3])


def test_a_places_own_hours_give_back_its_normals():
    mean = np.array([2, 3, 5, 8, 12, 15, 17, 17, 14, 10, 6, 3.0])
    first = date(2025, 1, 1).toordinal()
    place = from_normals("x", "open", mean, mean - 4, mean + 4, np.full(12, 75.0), first, 365)
    course = np.array([hourly(place, day) for day in range(first, first + 365)])
    temp, rh = course[:, 0].ravel(), course[:, 1].ravel()
    local_s = JANUARY + 3600.0 * np.arange(temp.size)
    monthly = monthly_of(local_s, temp, temp, temp, rh, BASE)
    assert np.allclose(monthly.normals[:3], [mean, mean - 4, mean + 4], atol=0.05)
    assert np.allclose(monthly.normals, monthly_of_place(place, first, first + 365), atol=0.01)


def test_normals_measured_inside_are_not_damped_heated_or_dried_again():
    mean = np.full(12, 8.0)
    first = date(2025, 1, 1).toordinal()
    given = (mean, mean - 6, mean + 6, np.full(12, 85.0), first, 365)
    for shelter in ("enclosed", "heated", "humidity_controlled"):
        inside = from_normals("in", shelter, *given, inside=True)
        assert np.allclose(inside.mean_c, 8.0)
        assert np.allclose(inside.max_c - inside.min_c, 12.0)
        assert np.allclose(inside.rh_pct, 85.0, atol=0.5)
        assert inside.shelter == shelter  # the inspection still knows where it goes


def test_a_heating_that_the_logger_bears_out_still_holds_in_a_cold_spell():
    mean = np.full(12, 14.0)
    given = (mean, mean - 2, mean + 2, np.full(12, 60.0), date(2025, 1, 1).toordinal(), 365)
    assert from_normals("in", "heated", *given, heated_to_c=11.0, inside=True).floor_c == 11.0
    assert np.isnan(from_normals("in", "heated", *given, heated_to_c=13.0, inside=True).floor_c)


# volts

CALCIUM = position(BATTERIES, "calcium")


def stream(
    days=90, step_s=60.0, a_day=0.004, full=True, spikes=(), charges=(), falls=(), noise=0.003, volts=12
):
    """A battery that loses ``a_day`` of its charge a day; minutes, with a logger's noise (fixed chance)."""
    rng = np.random.default_rng(7)
    second = JANUARY + step_s * np.arange(int(days * DAY_S / step_s))
    day = (second - JANUARY) / DAY_S
    soc = 1.0 - a_day * day
    for at, by in falls:
        soc -= by * np.clip((day - at) / 0.5, 0, 1)
    for at, hours in charges:
        soc += np.where(day >= at + hours / 24, a_day * (at + hours / 24), 0.0)
    v = rested_volts(soc, 25.0, CALCIUM, 12.0) + rng.normal(0, noise, day.size)
    for at, hours in charges:
        since = (day - at) * 24 - hours
        surface = np.where(since >= 0, 0.4 * np.exp(-np.clip(since, 0, 99) / 2), 0)
        v = np.where((since >= -hours) & (since < 0), 14.4, v + surface)
    for at in spikes:
        v = np.where((day >= at) & (day < at + 0.01), v - 0.6, v)
    v = v * volts / 12.0
    out = clean(second, np.array([v, np.full(v.size, 25.0)]), [0, -60], [36, 80])
    return read_stream(out.second, out.value[0], hours_of(out.second, out.value), volts, "lead")


@pytest.mark.parametrize("volts", [6, 12, 24])
def test_charges_are_found_with_begin_end_and_whether_they_filled(volts):
    seen = stream(charges=[(30, 8), (60, 1.5), (70, 0.5)], volts=volts)
    hours = (seen.end - seen.begin) / 3600
    assert hours == pytest.approx([8, 1.5], abs=0.05)  # half an hour is a run of the engine
    assert seen.full.tolist() == [True, False]
    assert (seen.begin[0] - JANUARY) / DAY_S == pytest.approx(30, abs=0.01)


def test_days_on_a_charger_are_a_maintainer_and_one_that_is_still_on_is_told():
    seen = stream(charges=[(20, 100), (85, 121)])
    assert seen.maintained.tolist() == [True, True]
    assert seen.running.tolist() == [False, True]


def test_no_reading_is_taken_within_twelve_hours_of_charge_or_load():
    seen = stream(charges=[(30, 8)], spikes=(40.2, 41.2, 42.2))
    for at in seen.at:
        since = [(at - JANUARY) / DAY_S - moved for moved in (30 + 8 / 24, 40.2, 41.2, 42.2)]
        assert all(gone < 0 or gone >= 11.4 / 24 for gone in since)
    assert (seen.rest_h >= 12).all()


def test_a_hole_in_the_file_begins_the_rest_anew():
    second = np.concatenate([np.arange(0, 2 * DAY_S, 600), np.arange(3 * DAY_S, 3.3 * DAY_S, 600)])
    v = np.full((2, second.size), 12.6)
    seen = read_stream(second, v[0], hours_of(second, v), 12, "lead")
    assert (seen.at < 2 * DAY_S).all()


def test_a_sudden_fall_is_told_and_a_slow_one_is_not():
    assert stream(a_day=0.005).fall_v.size == 0
    seen = stream(falls=[(45, 0.35)])
    assert seen.fall_v.sum() > 0.15
    assert 44 < (seen.fall_from[0] - JANUARY) / DAY_S < 46.5


def test_a_full_lithium_battery_at_rest_is_not_on_charge():
    second = np.arange(0, 20 * DAY_S, 600)
    v = np.full((2, second.size), 13.35)
    assert read_stream(second, v[0], hours_of(second, v), 12, "lithium").begin.size == 0
    assert read_stream(second, v[0], hours_of(second, v), 12, "lead").begin.size == 1


def test_minutes_of_months_become_a_handful_of_readings():
    seen = stream(days=90)
    assert seen.candidates >= 85
    assert 3 <= seen.at.size <= 8
    assert (np.diff(seen.at) >= DAY_S / 2).all()


def learned_from(days, volts, sd_of_meter=0.0):
    known = read(*((TODAY - 100 + d, v + sd_of_meter) for d, v in zip(days, volts, strict=True)))
    fleet = cars(1, steady(26.7), drain_a=0.0075, charges=charged(TODAY - 100), readings=known)
    return known_state(fleet, TODAY, Policy(recharge_soc=0.3)).learned


def test_a_logger_makes_a_rate_hardly_surer_than_one_reading_by_hand_does():
    """All its readings share one meter: kept as they are, thousands would claim a certainty that is not."""
    seen = stream(days=99)
    day = (seen.at - JANUARY) / DAY_S
    one = learned_from(day[-1:], seen.volts[-1:])
    few = learned_from(day, seen.volts)
    every = np.arange(1.0, 99.0)
    all_days = learned_from(every, rested_volts(1 - 0.004 * every, 25.0, CALCIUM, 12.0))
    assert few.sd[0] > 0.94 * one.sd[0]
    assert all_days.sd[0] < 0.92 * one.sd[0]  # what thinning prevents
    assert few.mean[0] == pytest.approx(one.mean[0], rel=0.15)


def test_a_meter_that_is_wrong_by_as_much_as_meters_are_does_not_push_the_rate_beyond_its_band():
    seen = stream(days=99, noise=0.001)
    day = (seen.at - JANUARY) / DAY_S
    true = learned_from(day, seen.volts)
    wrong = learned_from(day, seen.volts, sd_of_meter=-VOLTS_SD.value)
    assert abs(wrong.mean[0] - true.mean[0]) < 2.0 * wrong.sd[0]


@given(st.lists(st.floats(0, 30), min_size=2, max_size=200), st.sampled_from([60.0, 600.0, 7200.0]))
@settings(max_examples=40, deadline=None)
def test_whatever_volts_come_readings_are_in_order_and_rested(values, step):
    second = JANUARY + step * np.arange(len(values))
    column = np.array([values, values])
    seen = read_stream(second, column[0], hours_of(second, column), 12, "lead")
    assert (np.diff(seen.at) > 0).all()
    assert (seen.rest_h >= 12).all()
    assert all(b <= e for b, e in zip(seen.begin, seen.end, strict=True))
