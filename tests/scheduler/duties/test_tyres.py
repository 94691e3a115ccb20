"""Tyres: pressure, set and age; and the duties to gauge and to roll."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.duties.conditions import TAGS
from scheduler.duties.policy import Policy
from scheduler.duties.tyres import tyre_move, tyre_pressure
from scheduler.duties.tyres.course import course
from scheduler.life import tables
from scheduler.life.log import LogOfCar, read
from scheduler.physics.climate import cumulative
from scheduler.physics.tyres.age import AGE_BANDS, age_band, age_years, weeks_made
from scheduler.physics.tyres.pressure import (
    days_to_fall_to,
    gauge_at_kpa,
    leak_per_day,
    leak_speed,
    pressure_after_kpa,
    set_share,
    standing_days_allowed,
)
from scheduler.vocabulary.errors import BadInput
from tests.scheduler.barn import TODAY, a_place, cars, readings

POLICY = Policy()
NOW = date(2026, 11, 25)
quick = settings(max_examples=40, deadline=None)
few = settings(max_examples=12, deadline=None)  # a whole forecast each
celsius, gauge = st.floats(-40, 50), st.floats(50, 900)


# pressure and temperature
@quick
@given(gauge, celsius, celsius)
def test_a_pressure_brought_there_and_back_is_the_same(kpa, here, there):
    if gauge_at_kpa(kpa, here, there) >= 0:
        assert gauge_at_kpa(gauge_at_kpa(kpa, here, there), there, here) == pytest.approx(kpa)


@quick
@given(gauge, celsius, st.floats(0.1, 50))
def test_warmth_raises_the_reading(kpa, cool, more):
    assert gauge_at_kpa(kpa, cool, cool + more) > kpa


def test_gauge_is_not_absolute():
    # a gauge pressure of nothing still holds one atmosphere, which the cold shrinks too
    assert gauge_at_kpa(0.0, 20.0, 20.0) == pytest.approx(0)
    assert gauge_at_kpa(220.0, 20.0, -10.0) != pytest.approx(220 * 263.15 / 293.15, abs=1)


@pytest.mark.parametrize(
    ("argument", "values"),
    [
        ("read_at_c", (220, -300, 20)),
        ("wanted_at_c", (220, 20, np.nan)),
        ("gauge_kpa", (-1, 20, 20)),
    ],
)
def test_impossible_pressures_and_temperatures_are_refused_by_name(argument, values):
    with pytest.raises(BadInput, match=argument):
        gauge_at_kpa(*values)


@quick
@given(celsius, celsius)
def test_warmer_air_never_leaks_slower(one, other):
    assert leak_speed(max(one, other)) >= leak_speed(min(one, other)) > 0


@quick
@given(st.floats(0, 4000), st.floats(0.001, 0.2))
def test_pressure_falls_with_time_and_never_below_nothing(days, monthly):
    leak = leak_per_day(monthly)
    left = pressure_after_kpa(220.0, leak, [days, days + 1])
    assert 0 < left[1] < left[0] <= 220
    assert days_to_fall_to(220.0, left[0], leak) == pytest.approx(days, abs=1e-6)


def test_months_to_lose_a_tenth():
    months = days_to_fall_to(220, 198, leak_per_day([0.01, 0.015, 0.02, 0.03])) / 30.436875
    assert months == pytest.approx([10.5, 7.0, 5.2, 3.5], abs=0.05)


# set
@quick
@given(st.floats(0, 1000), st.floats(0, 400))
def test_a_softer_tyre_never_may_stand_longer_and_never_longer_than_published(days, kpa):
    allowed = standing_days_allowed(90.0, [kpa, kpa + 10], 200.0)
    assert 0 <= allowed[0] <= allowed[1] <= 90
    used = set_share(days, allowed, [False, False])
    assert used[1] <= used[0]


def test_on_stands_there_is_no_set():
    assert set_share([400.0, 0.0, 90.0], 90.0, [True, False, False]).tolist() == [0, 0, 1]


# age
@pytest.mark.parametrize("code", ["5322", "0023", "5423", "000", "23", "12345", "AB18", "", "4930"])
def test_a_code_that_names_no_past_week_is_refused(code):
    with pytest.raises(BadInput, match="date_code"):
        weeks_made(code, NOW)


def test_a_whole_tyre_number_is_read_by_its_last_group():
    assert weeks_made("DOT A1B2 C3D 2318", NOW) == weeks_made("2318", NOW)


def test_four_digits_were_allowed_in_the_year_before_they_were_required():
    assert weeks_made("5099", NOW)[0].first.year == 1999


def test_three_digits_give_every_decade_oldest_first():
    assert [week.first for week in weeks_made("031", NOW)] == [
        date(1971, 1, 17),
        date(1981, 1, 18),
        date(1991, 1, 20),
    ]


def test_age_counts_from_manufacture_in_bands():
    made = [date(2026, 1, 1), date(2021, 6, 1), date(2019, 1, 1), date(2016, 1, 1)]
    bands = age_band(age_years([day.toordinal() for day in made], NOW.toordinal()))
    assert bands.tolist() == [0, 1, 2, 3]
    assert age_band(np.nan) == -1
    assert len(AGE_BANDS) == 4


# the duty to gauge
def pumped(*measured, **columns):
    return cars(placard_kpa=220.0, readings=readings("tyre_pressure", *measured), **columns)


def gauge_due(fleet):
    return tyre_pressure.window(fleet, TODAY, POLICY).due[0]


def test_a_tyre_is_due_when_its_leak_has_brought_it_a_tenth_below_placard():
    fleet = pumped((0, TODAY - 10, 220.0, 20.0, 0))
    due = tyre_pressure.window(fleet, TODAY, POLICY)
    chart = tyre_pressure.band(fleet, np.array([due.due[0]]), POLICY)
    assert chart.likely[0] == pytest.approx(198, abs=0.05)
    assert due.early[0] < due.due[0] < due.late[0]
    assert not due.assumed[0]


def test_the_softest_tyre_sets_the_date():
    fleet = pumped((0, TODAY, 220.0, 20.0, 0), (0, TODAY, 202.0, 20.0, 1), (0, TODAY, 221.0, 20.0, 2))
    alone = pumped((0, TODAY, 202.0, 20.0, 0))
    assert gauge_due(fleet) == gauge_due(alone)
    assert tyre_pressure.explain(fleet, TODAY, POLICY).summary.startswith("Front right tyre")


def test_a_cold_morning_is_not_a_leak():
    warm = pumped((0, TODAY, 220.0, 20.0, 0))
    cold = pumped((0, TODAY, float(gauge_at_kpa(220, 20, -10)), -10.0, 0))
    assert tyre_pressure.window(cold, TODAY, POLICY).due == pytest.approx(
        tyre_pressure.window(warm, TODAY, POLICY).due
    )


def test_a_warmer_place_is_due_sooner():
    cool, warm = (pumped((0, TODAY, 220.0, 20.0, 0), place=a_place(warmer_k=k)) for k in (0, 8))
    assert tyre_pressure.window(warm, TODAY, POLICY).due[0] < tyre_pressure.window(cool, TODAY, POLICY).due[0]


@few
@given(st.floats(150, 260), st.floats(0, 40))
def test_more_air_never_makes_it_due_earlier(kpa, more):
    due = [gauge_due(pumped((0, TODAY, p, 20.0, 0))) for p in (kpa, kpa + more)]
    assert due[0] <= due[1] or np.isnan(due[1])


def monthly_readings(per_month, months, start=220.0, noise=0.0, seed=1):
    """Readings of one tyre every 30 days at 20 °C, leaking as this place's warmth has it."""
    place = a_place()
    running = cumulative(place, leak_speed)
    day = TODAY - 30.0 * np.arange(months, -1, -1)
    spent = running[(day - place.first_day).astype(int)]
    kpa = pressure_after_kpa(start, leak_per_day(per_month), spent - spent[0])
    kpa = kpa * (1 + noise * np.random.default_rng(seed).standard_normal(len(kpa)))
    return [(0, d, p, 20.0, 0) for d, p in zip(day, kpa, strict=True)]


@pytest.mark.parametrize("per_month", [0.008, 0.045])
def test_a_tyres_own_readings_teach_its_own_leak_and_narrow_the_window(per_month):
    taught = pumped(*monthly_readings(per_month, 24, noise=0.005))
    learned = course(taught, TODAY)
    truth = leak_per_day(per_month)
    fresh = course(pumped((0, TODAY, 220.0, 20.0, 0)), TODAY)
    assert abs(learned.line.leak[1, 0, 1] - truth) < abs(leak_per_day(0.02) - truth) / 2
    assert np.ptp(learned.line.leak[:, 0, 1]) < np.ptp(fresh.line.leak[:, 0, 1])
    assert learned.line.used[0, 1] >= 20
    assert "Learned from" in tyre_pressure.explain(taught, TODAY, POLICY).learning[1]


def test_one_absurd_reading_teaches_nothing():
    honest = monthly_readings(0.02, 12)
    typo = [*honest[:6], (0, honest[6][1], 22.0 * 1.5, 20.0, 0), *honest[7:]]
    clean, spoilt = (pumped(*table) for table in (honest, typo))
    rates = [course(fleet, TODAY).line.leak[1, 0, 1] for fleet in (clean, spoilt)]
    assert rates[1] == pytest.approx(rates[0], rel=0.05)


def test_pumping_up_between_readings_is_no_negative_leak():
    fleet = pumped(
        (0, TODAY - 60, 190.0, 20.0, 0), (0, TODAY - 30, 230.0, 20.0, 0), (0, TODAY, 229.0, 20.0, 0)
    )
    learned = course(fleet, TODAY)
    assert learned.line.used[0, 1] == 2
    assert (learned.line.leak[:, 0, 1] > 0).all()


def logged(*tyres_of_a_day, placard=220.0):
    """A fleet of one from entries (day, kPa found, details): the front left tyre at 20 °C."""
    log = LogOfCar()
    for number, (day, kpa, details) in enumerate(tyres_of_a_day):
        reading = {
            "quantity": "tyre_pressure",
            "value": kpa,
            "position": "front_left",
            "temperature_c": 20.0,
            "rest_hours": None,
        }
        as_set = details.get("set_to")
        more = [reading | {"quantity": "tyre_pressure_set", "value": as_set}] if as_set else []
        entry = {"id": number, "kind": "tyre_pressures", "details": details}
        read(log, entry, day, [reading, *more])
    return cars(placard_kpa=placard, readings=tables.readings([log], [np.nan]))


def test_topped_up_counts_from_the_placard_and_what_was_set_from_what_it_was_set_to():
    left_alone, topped_up, high = (
        logged((TODAY, 205.0, details)) for details in ({}, {"topped_up": True}, {"set_to": 275.0})
    )
    kpa = [course(fleet, TODAY).line.kpa[0, 1] for fleet in (left_alone, topped_up, high)]
    assert kpa == pytest.approx([205.0, 220.0, 275.0])
    assert gauge_due(left_alone) < gauge_due(topped_up) < gauge_due(high)


def test_what_was_set_is_surer_than_topped_up_alone():
    sure, unsure = logged((TODAY, 205.0, {"set_to": 220.0})), logged((TODAY, 205.0, {"topped_up": True}))
    early = [tyre_pressure.window(fleet, TODAY, POLICY).early[0] for fleet in (sure, unsure)]
    assert early[0] > early[1]


def test_a_small_topping_up_that_was_written_down_is_no_error_of_the_gauge():
    entries = [(TODAY - 60 * k, 214.0, {"set_to": 220.0}) for k in range(4, 0, -1)]
    line = course(logged(*entries, (TODAY, 214.0, {})), TODAY).line
    assert line.used[0, 1] == 8  # each found reading with what was set before it
    assert line.kpa[0, 1] == pytest.approx(214.0, abs=2.0)


def test_the_error_of_the_last_reading_is_in_the_early_date():
    sure = tyre_pressure.window(pumped((0, TODAY, 220.0, 20.0, 0)), TODAY, POLICY)
    fleet = pumped((0, TODAY, 220.0, 20.0, 0))
    by_leak_alone = course(fleet, TODAY)
    flawless = replace(by_leak_alone.line, level_sd=np.zeros_like(by_leak_alone.line.level_sd))
    exact = tyre_pressure.reached(fleet, replace(by_leak_alone, line=flawless), POLICY.tyre_drop_share, 2)
    assert sure.early[0] < np.nanmin(exact)


def test_many_readings_since_it_was_pumped_up_make_its_level_surer():
    one = course(pumped((0, TODAY, 220.0, 20.0, 0)), TODAY).line
    many = course(pumped(*monthly_readings(0.02, 6)), TODAY).line
    assert many.level_sd[0, 1] < one.level_sd[0, 1]


def test_a_tyre_found_far_down_is_pumped_up_now_and_a_fast_leak_is_called_one():
    fleet = pumped(*monthly_readings(0.02, 4)[:-1], (0, TODAY, 150.0, 20.0, 0))
    assert gauge_due(fleet) == TODAY
    leaking = pumped(*monthly_readings(0.09, 4, start=260.0))
    assert "That is a leak" in tyre_pressure.explain(leaking, TODAY, POLICY).summary
    assert "That is a leak" not in tyre_pressure.explain(fleet, TODAY, POLICY).summary


def test_old_tyres_are_taken_to_lose_more():
    fresh, old = (pumped((0, TODAY, 220.0, 20.0, 0), tyre_made=TODAY - 365 * years) for years in (3, 15))
    assert gauge_due(old) < gauge_due(fresh)
    assert any("over 10 years" in text for text in tyre_pressure.explain(old, TODAY, POLICY).assumptions)


def test_a_later_reading_of_the_whole_car_goes_before_older_single_ones():
    fleet = pumped((0, TODAY - 90, 190.0, 20.0, 0), (0, TODAY, 220.0, 20.0))
    alone = pumped((0, TODAY, 220.0, 20.0))
    assert gauge_due(fleet) == gauge_due(alone)


def test_a_reading_after_today_is_not_known_today():
    fleet = pumped((0, TODAY, 220.0, 20.0, 0), (0, TODAY + 5, 100.0, 20.0, 0))
    assert tyre_pressure.window(fleet, TODAY, POLICY).due[0] > TODAY + 30


def test_without_readings_the_lay_up_at_placard_is_assumed_and_said():
    fleet = cars(placard_kpa=220.0, stored_since=TODAY - 50)
    due = tyre_pressure.window(fleet, TODAY, POLICY)
    assert due.assumed[0]
    assert due.due[0] > TODAY
    assert any("as at placard" in line for line in tyre_pressure.explain(fleet, TODAY, POLICY).assumptions)


def test_a_car_of_which_nothing_is_known_is_gauged_today():
    due = tyre_pressure.window(cars(), TODAY, POLICY)
    assert due.early[0] == due.due[0] == TODAY
    assert np.isnan(due.late[0])
    assert "gauge the tyres today" in tyre_pressure.explain(cars(), TODAY, POLICY).summary


def test_the_pressure_chart_falls_and_holds_its_order():
    chart = tyre_pressure.band(pumped((0, TODAY, 220.0, 20.0, 0)), TODAY + np.arange(0.0, 300, 10), POLICY)
    assert (np.diff(chart.likely) < 0).all()
    assert (chart.low <= chart.likely).all()
    assert (chart.likely <= chart.high).all()


# the duty to roll
def test_a_car_is_rolled_within_ninety_days_or_thirty_for_overlay_tyres():
    due = tyre_move.window(cars(last_moved=TODAY, placard_kpa=220.0), TODAY, POLICY)
    assert (due.early[0], due.due[0], due.late[0]) == (TODAY + 30, TODAY + 90, TODAY + 180)


def test_road_use_moves_the_tyres_too():
    due = tyre_move.window(cars(last_moved=TODAY - 80, last_road_use=TODAY - 5), TODAY, POLICY)
    assert due.due[0] == TODAY + 85


def test_a_soft_tyre_is_rolled_sooner():
    soft = pumped((0, TODAY, 110.0, 20.0, 0), last_moved=TODAY)
    assert tyre_move.window(soft, TODAY, POLICY).due[0] == pytest.approx(TODAY + 45)


def test_a_soft_spare_does_not_hurry_the_move_but_is_pumped_up():
    fleet = pumped((0, TODAY, 220.0, 20.0, 0), (0, TODAY, 110.0, 20.0, 4), last_moved=TODAY)
    assert tyre_move.window(fleet, TODAY, POLICY).due[0] == TODAY + 90
    assert gauge_due(fleet) == TODAY
    assert tyre_pressure.explain(fleet, TODAY, POLICY).summary.startswith("Spare tyre")


def test_on_stands_nothing_is_rolled():
    due = tyre_move.window(cars(on_stands=True), TODAY, POLICY)
    assert np.isnan([due.early[0], due.due[0], due.late[0]]).all()
    assert "on stands" in tyre_move.explain(cars(on_stands=True), TODAY, POLICY).summary


def test_a_danger_tag_holds_the_move_and_keeps_its_date():
    fleet = cars(last_moved=TODAY - 100)
    tagged = replace(fleet, tags=np.eye(1, len(TAGS), TAGS.index("danger")).astype(bool))
    free, held = (tyre_move.window(one, TODAY, POLICY) for one in (fleet, tagged))
    assert (free.hold[0], held.hold[0]) == (-1, 0)
    assert held.due[0] == free.due[0]


def test_the_reason_to_roll_carries_the_caution():
    reason = tyre_move.explain(cars(last_moved=TODAY), TODAY, POLICY)
    assert any("Chock" in step.worked for step in reason.steps)


def test_a_known_leak_lies_within_the_learned_range_for_most_tyres():
    n, months, place = 300, 8, a_place()
    random = np.random.default_rng(11)
    truth = leak_per_day(np.clip(random.normal(0.02, 0.006, n), 0.004, 0.05))
    running = cumulative(place, leak_speed)
    day = TODAY - 30.0 * np.arange(months, -1, -1)
    spent = running[(day - place.first_day).astype(int)]
    kpa = 220 * np.exp(-truth[:, None] * (spent - spent[0]) + random.normal(0, 0.015, (n, months + 1)))
    table = [(row, d, p, 20.0, 0) for row in range(n) for d, p in zip(day, kpa[row], strict=True)]
    fleet = cars(n, place=place, placard_kpa=220.0, readings=readings("tyre_pressure", *table))
    low, likely, high = course(fleet, TODAY).line.leak[:, :, 1]
    assert 0.82 <= np.mean((low <= truth) & (truth <= high)) <= 0.97
    assert np.mean(np.abs(likely - truth)) < 0.75 * np.mean(np.abs(leak_per_day(0.02) - truth))
