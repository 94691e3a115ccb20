"""When a charge is due: the rules that a barn hand would expect, for one car and for a fleet."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.duties.battery.charge import LIMITS, band, explain, window
from scheduler.duties.battery.charge.evidence import CHARGED_SOC
from scheduler.duties.battery.charge.state import known_state
from scheduler.duties.conditions import PutIn
from scheduler.duties.policy import Policy
from scheduler.life import tables
from scheduler.life.log import LogOfCar
from scheduler.life.log import read as log_entry
from scheduler.physics.battery.batteries import BATTERIES
from scheduler.vocabulary.errors import BadInput
from tests.scheduler.batteries import TODAY, cars, charged, read, steady, valley
from tests.scheduler.blank import blank

POLICY = Policy()
kinds = st.sampled_from([battery.name for battery in BATTERIES])


def due(fleet, **policy):
    return window(fleet, TODAY, replace(POLICY, **policy)).due[0]


def limit(fleet, row=0):
    return LIMITS[window(fleet, TODAY, POLICY).limit[row]]


def test_a_battery_with_drain_is_due_on_the_day_that_hand_arithmetic_gives():
    """60 Ah calcium at 25 °C with 20 mA: 15 Ah / (0.06 + 0.48 Ah a day)."""
    fleet = cars(place=steady(25), charges=charged(TODAY))
    assert due(fleet) - TODAY == pytest.approx(60 * (CHARGED_SOC - 0.75) / (60 * 0.03 / 30 + 0.48), abs=0.01)
    assert limit(fleet) == "state of charge"


def test_the_window_is_in_order_and_all_three_days_exist():
    answer = window(cars(charges=charged(TODAY - 5)), TODAY, POLICY)
    assert TODAY - 5 < answer.early[0] < answer.due[0] < answer.late[0]


def test_late_is_when_half_is_gone():
    fleet = cars(place=steady(25), charges=charged(TODAY))
    assert window(fleet, TODAY, POLICY).late[0] - TODAY == pytest.approx(
        60 * (CHARGED_SOC - 0.50) / 0.54, abs=0.01
    )


@settings(max_examples=30, deadline=None)
@given(st.floats(0, 400), st.floats(0, 60), kinds, st.floats(0, 0.2))
def test_a_later_charge_never_makes_a_charge_due_earlier(ago, later, chemistry, drain_a):
    both = cars(
        2,
        chemistry=chemistry,
        drain_a=drain_a,
        battery_made=TODAY - 900,
        charges=charged(TODAY - ago, min(TODAY - ago + later, TODAY)),
    )
    answer = window(both, TODAY, POLICY)
    for column in (answer.early, answer.due, answer.late):
        assert not column[1] < column[0] - 1e-6


@settings(max_examples=30, deadline=None)
@given(st.sampled_from([5.0, 9.0, 16.0]), st.sampled_from([0.0, 0.5, 4.0, 9.0]), kinds, st.floats(0, 0.2))
def test_warmer_is_never_later_where_no_frost_threatens(base, more, chemistry, drain_a):
    dates = []
    for warmer in (base, base + more):
        fleet = cars(
            place=valley(warmer, "enclosed"),
            chemistry=chemistry,
            drain_a=drain_a,
            battery_made=TODAY - 900,
            charges=charged(TODAY - 30),
        )
        answer = window(fleet, TODAY, POLICY)
        dates.append((answer.early[0], answer.due[0], answer.late[0]))
    for cool, warm in zip(*dates, strict=True):
        assert not warm > cool + 1e-6


@settings(max_examples=30, deadline=None)
@given(st.floats(0, 0.3), st.floats(0, 0.3), kinds)
def test_more_drain_is_never_later(one, other, chemistry):
    fleet = cars(2, chemistry=chemistry, drain_a=np.sort([one, other]), charges=charged(TODAY - 3, TODAY - 3))
    answer = window(fleet, TODAY, POLICY)
    for column in (answer.early, answer.due, answer.late):
        assert not column[1] > column[0] + 1e-6


def mixed_fleet(n=60, seed=5):
    """Every kind of car: chemistries, volts, places, missing values, readings good and absurd, spells."""
    rng = np.random.default_rng(seed)
    places = (valley(), valley(8.0, "enclosed"), valley(-6.0, "open"))

    def holes(values):
        return np.where(rng.random(n) < 0.3, np.nan, values)

    fleet = replace(
        blank(n, places[0]),
        places=places,
        place=rng.integers(0, 3, n),
        chemistry=rng.integers(-1, len(BATTERIES), n),
        battery_volts=holes(rng.choice([6.0, 12.0, 24.0], n)),
        capacity_ah=holes(rng.uniform(30, 110, n)),
        battery_made=holes(TODAY - rng.uniform(0, 3000, n)),
        drain_a=holes(rng.uniform(0, 0.08, n)),
        isolated=rng.random(n) < 0.2,
        model_year=holes(rng.uniform(1930, 2020, n)),
        on_maintainer=rng.random(n) < 0.1,
        stored_since=holes(TODAY - rng.uniform(0, 2000, n)),
        last_road_use=holes(TODAY - rng.uniform(0, 2000, n)),
        last_attended=holes(TODAY - rng.uniform(0, 60, n)),
    )
    m = 3 * n
    spell = rng.random(m) < 0.2
    day = TODAY - rng.uniform(0, 500, m)
    until = np.where(spell, np.minimum(day + rng.uniform(1, 90, m), TODAY), day)
    charges = replace(
        charged(), row=rng.integers(0, n, m), day=day, until=until, completed=rng.random(m) < 0.8
    )
    table = [
        (row, TODAY - ago, volts)
        for row, ago, volts in zip(
            rng.integers(0, n, m), rng.uniform(0, 500, m), rng.uniform(11, 13, m), strict=True
        )
    ]
    readings = read(*table, (0, TODAY - 2, 126.0), (1, TODAY - 2, -3.0))
    return replace(fleet, charges=charges, readings=readings)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_a_fleet_gives_each_car_what_it_gets_alone(seed):
    fleet = mixed_fleet(seed=seed)
    together = window(fleet, TODAY, POLICY)
    for row in range(len(fleet)):
        alone = window(fleet.take([row]), TODAY, POLICY)
        for name in ("early", "due", "late"):
            assert getattr(together, name)[row] == pytest.approx(
                getattr(alone, name)[0], abs=1e-6, nan_ok=True
            )
        for name in ("limit", "hold", "assumed"):
            assert getattr(together, name)[row] == getattr(alone, name)[0]


def test_every_car_of_a_mixed_fleet_gets_ordered_dates():
    answer = window(mixed_fleet(200), TODAY, POLICY)
    assert np.isfinite(answer.due).all()
    assert (answer.early <= answer.due).all()
    assert not (answer.late < answer.due).any()


def test_an_empty_fleet_is_no_trouble():
    assert window(cars().take([]), TODAY, POLICY).due.size == 0


def test_a_car_of_which_nothing_is_known_is_due_now_and_marked_as_assumed():
    answer = window(blank(1, valley()), TODAY, POLICY)
    assert answer.due[0] == TODAY
    assert answer.assumed[0]
    words = " ".join(explain(blank(1, valley()), TODAY, POLICY).assumptions)
    for named in ("kind of battery", "capacity", "age", "key-off drain", "No charge and no rested reading"):
        assert named in words


def test_a_missing_record_widens_the_window():
    known = cars(charges=charged(TODAY))
    unknown = replace(known, drain_a=np.array([np.nan]))
    widths = [w.due[0] - w.early[0] for w in (window(f, TODAY, POLICY) for f in (known, unknown))]
    assert widths[1] > widths[0]


def test_an_isolator_stops_the_drain():
    fleet = cars(charges=charged(TODAY))
    assert due(replace(fleet, isolated=np.array([True]))) > due(fleet) + 100


def test_an_isolated_calcium_battery_is_due_by_the_calendar():
    fleet = cars(place=steady(5), isolated=True, charges=charged(TODAY))
    assert due(fleet) == pytest.approx(TODAY + 180)
    assert limit(fleet) == "calendar interval"


def test_the_calendar_shortens_where_it_is_hot():
    fleet = cars(place=steady(30), isolated=True, charges=charged(TODAY))
    assert due(fleet) == pytest.approx(TODAY + 90)


def test_an_old_car_is_taken_to_draw_less_than_a_modern_one():
    fleet = cars(2, drain_a=np.nan, model_year=np.array([1965.0, 2015.0]), charges=charged(TODAY, TODAY))
    answer = window(fleet, TODAY, POLICY)
    assert answer.due[0] > answer.due[1]
    assert answer.assumed.all()


def test_an_old_battery_is_due_before_a_new_one():
    fleet = cars(2, battery_made=np.array([TODAY, TODAY - 6 * 365]), charges=charged(TODAY, TODAY))
    answer = window(fleet, TODAY, POLICY)
    assert answer.due[1] < answer.due[0]


def test_charges_of_the_battery_before_do_not_count():
    fleet = cars(charges=charged(TODAY - 30), battery_installed=TODAY - 10)
    assert due(fleet) > due(replace(fleet, battery_installed=np.array([np.nan])))
    assert explain(fleet, TODAY, POLICY).assumptions[0].startswith("No charge")


def test_a_charge_that_did_not_complete_is_not_taken_as_full():
    partial = cars(charges=charged(TODAY - 2, completed=False), stored_since=TODAY - 40)
    assert due(partial) == due(replace(partial, charges=charged()))


# On a maintainer


def test_on_a_maintainer_nothing_is_due_but_a_look_at_it():
    fleet = cars(on_maintainer=True, charges=charged(TODAY - 10, until=np.nan))
    assert due(fleet) == TODAY + 20
    assert limit(fleet) == "maintainer check"
    assert "On a maintainer" in explain(fleet, TODAY, POLICY).summary


def test_being_at_the_car_puts_off_the_look_at_its_maintainer():
    fleet = cars(on_maintainer=True, charges=charged(TODAY - 10, until=np.nan), last_attended=TODAY - 1)
    assert due(fleet) == TODAY + 29


def test_a_maintainer_of_which_nobody_knows_since_when_is_looked_at_today():
    fleet = cars(on_maintainer=True)
    assert due(fleet) == TODAY
    assert any("maintainer" in text for text in explain(fleet, TODAY, POLICY).assumptions)


def test_late_for_a_maintainer_is_harm_had_its_power_failed_at_the_last_look():
    fleet = cars(place=steady(25), on_maintainer=True, charges=charged(TODAY - 10, until=np.nan))
    assert window(fleet, TODAY, POLICY).late[0] - (TODAY - 10) == pytest.approx(30 / 0.54, abs=0.01)


def test_when_the_power_fails_the_battery_runs_down_from_full_from_that_day():
    lost = cars(place=steady(25), charges=charged(TODAY - 100, until=TODAY - 10))
    assert due(lost) == pytest.approx(TODAY - 10 + 15 / 0.54, abs=0.01)


def test_a_reading_on_the_maintainer_says_nothing():
    fleet = cars(charges=charged(TODAY - 100, until=TODAY - 10), readings=read((TODAY - 50, 12.1)))
    assert due(fleet) == due(replace(fleet, readings=read((TODAY - 50, 12.7))))
    assert explain(fleet, TODAY, POLICY).learning[1:] == ("Readings used: 0.",)


# Readings


def test_without_a_charge_the_newest_rested_reading_is_the_start():
    fleet = cars(place=steady(25), readings=read((TODAY - 30, 12.65), (TODAY, 12.545)), drain_a=0.02)
    low = cars(place=steady(25), readings=read((TODAY - 30, 12.65), (TODAY, 12.3)))
    assert due(low) == TODAY
    assert TODAY < due(fleet) < TODAY + 28


@pytest.mark.parametrize(("volts", "nominal"), [(4.0, 12.0), (10.4, 12.0), (5.2, 6.0), (20.9, 24.0)])
def test_volts_of_no_sound_battery_are_never_answered_by_charge_it(volts, nominal):
    words = explain(cars(readings=read((TODAY, volts)), battery_volts=nominal), TODAY, POLICY).summary
    assert "charge it now" not in words
    assert "Do not charge it yet" in words
    assert "ice" in words


@pytest.mark.parametrize(("volts", "nominal"), [(10.6, 12.0), (11.4, 12.0), (5.3, 6.0)])
def test_a_flat_battery_with_its_cells_whole_is_charged(volts, nominal):
    words = explain(cars(readings=read((TODAY, volts)), battery_volts=nominal), TODAY, POLICY).summary
    assert "charge it now" in words


def test_once_it_took_a_full_charge_an_earlier_reading_says_nothing_any_more():
    fleet = cars(readings=read((TODAY - 9, 4.0)), charges=charged(TODAY - 5))
    assert "Do not charge" not in explain(fleet, TODAY, POLICY).summary


def test_a_hydrometer_serves_as_well_as_a_voltmeter():
    volts = cars(readings=read((TODAY, 12.545)))
    gravity = cars(readings=read((TODAY, 1.244), kind="specific_gravity"))
    assert due(gravity) == pytest.approx(due(volts), abs=0.5)


def test_six_cells_read_on_one_day_count_once():
    cells = [(TODAY, 1.244 + 0.002 * cell) for cell in (-1, 0, 1, -1, 0, 1)]
    six = cars(readings=read(*cells, kind="specific_gravity"))
    one = cars(readings=read((TODAY, 1.244), kind="specific_gravity"))
    assert due(six) == pytest.approx(due(one))


def test_a_sealed_battery_has_no_hydrometer_reading():
    fleet = cars(
        chemistry="agm", charges=charged(TODAY - 20), readings=read((TODAY, 1.10), kind="specific_gravity")
    )
    assert due(fleet) == due(cars(chemistry="agm", charges=charged(TODAY - 20)))
    assert any("could not be used" in text for text in explain(fleet, TODAY, POLICY).assumptions)


@pytest.mark.parametrize("volts", [-12.6, 126.0, 14.4])
def test_an_absurd_reading_moves_nothing(volts):
    plain = cars(charges=charged(TODAY - 10))
    odd = replace(plain, readings=read((TODAY - 1, volts)))
    for name in ("early", "due", "late"):
        assert getattr(window(odd, TODAY, POLICY), name) == getattr(window(plain, TODAY, POLICY), name)


@pytest.mark.parametrize("volts", [12.0, 12.9, 5.0])
def test_one_stray_reading_among_good_ones_does_not_move_the_learned_rate(volts):
    good = [(TODAY - 20, 12.62), (TODAY - 14, 12.57), (TODAY - 7, 12.51), (TODAY - 1, 12.46)]
    plain = cars(charges=charged(TODAY - 25), readings=read(*good))
    stray = replace(plain, readings=read(*good, (TODAY - 10, volts)))
    assert window(stray, TODAY, POLICY).due[0] == pytest.approx(window(plain, TODAY, POLICY).due[0])
    words = " ".join(explain(stray, TODAY, POLICY).learning)
    assert "set aside as out of line" in words


def test_a_battery_found_far_lower_than_foretold_is_due_at_once_and_says_so():
    fleet = cars(charges=charged(TODAY - 10), readings=read((TODAY - 1, 11.9)))
    assert due(fleet) == TODAY - 1
    assert any("far below" in text for text in explain(fleet, TODAY, POLICY).assumptions)


def test_a_battery_cannot_fill_itself():
    fleet = cars(charges=charged(TODAY - 60), readings=read((TODAY - 1, 12.9)))
    assert due(fleet) == pytest.approx(due(cars(charges=charged(TODAY - 60))), abs=0.5)
    assert any("set aside" in text for text in explain(fleet, TODAY, POLICY).assumptions)


def test_readings_narrow_the_window():
    plain = cars(charges=charged(TODAY - 25), drain_a=np.nan, model_year=1995.0)
    measured = [(TODAY - 20 + 4 * i, 12.62 - 0.028 * i) for i in range(5)]
    widths = []
    for count in (0, 1, 3, 5):
        fleet = replace(plain, readings=read(*measured[:count])) if count else plain
        answer = window(fleet, TODAY, POLICY)
        widths.append(answer.due[0] - answer.early[0])
    assert widths == sorted(widths, reverse=True)
    assert widths[-1] < 0.6 * widths[0]


def test_a_reading_after_a_road_drive_does_not_teach():
    fleet = cars(charges=charged(TODAY - 40), last_road_use=TODAY - 5, readings=read((TODAY - 1, 12.6)))
    assert explain(fleet, TODAY, POLICY).learning[1:] == ("Readings used: 0.",)


def test_learning_shows_assumed_rate_learned_rate_and_how_many_readings():
    fleet = cars(charges=charged(TODAY - 25), readings=read((TODAY - 10, 12.5), (TODAY - 2, 12.42)))
    words = explain(fleet, TODAY, POLICY).learning
    assert [text.split(":")[0] for text in words] == [
        "Assumed from the tables",
        "Learned from this car",
        "Readings used",
    ]
    assert words[2] == "Readings used: 2."


# Frost


def test_in_a_cold_place_frost_comes_before_sulphate_and_is_named():
    fleet = cars(place=valley(-22.0, "open"), drain_a=0.006, charges=charged(TODAY - 30))
    summary = explain(fleet, TODAY, POLICY).summary
    assert "a cold night could freeze it" in summary
    assert limit(fleet) == "frost"


def test_a_heated_building_takes_the_frost_away():
    cold = cars(place=valley(-15.0, "open"), drain_a=0.008, charges=charged(TODAY - 30))
    warm = replace(cold, places=(valley(-15.0, "heated", heated_to_c=8.0),))
    assert "freeze" in explain(cold, TODAY, POLICY).summary
    assert "freeze" not in explain(warm, TODAY, POLICY).summary
    assert window(warm, TODAY, POLICY).late[0] > window(cold, TODAY, POLICY).late[0]


def test_a_wider_frost_margin_is_never_later():
    fleet = cars(place=valley(-15.0, "open"), drain_a=0.008, charges=charged(TODAY - 30))
    lates = [window(fleet, TODAY, replace(POLICY, freeze_margin_k=m)).late[0] for m in (0, 5, 10, 15)]
    assert lates == sorted(lates, reverse=True)


def test_a_flat_battery_that_stood_through_the_frost_is_not_to_be_charged_unseen():
    fleet = cars(place=valley(-10.0, "open"), charges=charged(TODAY - 320))
    assert "Never charge a frozen battery" in explain(fleet, TODAY, POLICY).summary


def test_frost_in_a_car_by_hand_walking_day_by_day():
    from scheduler.physics.battery.freezing import freezing_point_c
    from scheduler.physics.climate import coldest

    place = valley(-15.0, "open")
    fleet = cars(place=place, drain_a=0.008, charges=charged(TODAY - 30))
    late = window(fleet, TODAY, POLICY).late[0]
    days = np.arange(TODAY - 30, TODAY + 200)
    likely = band(fleet, days, POLICY).likely
    cold = coldest(place, POLICY.cold_spell_k)[(days - place.first_day).astype(int)]
    first = days[np.argmax(cold - POLICY.freeze_margin_k <= freezing_point_c(likely))]
    assert late == pytest.approx(first, abs=1.0)


def test_lithium_does_not_freeze_and_is_warned_of_charging_in_frost():
    fleet = cars(place=valley(-22.0, "open"), chemistry="lifepo4", drain_a=0.006, charges=charged(TODAY - 30))
    summary = explain(fleet, TODAY, POLICY).summary
    assert "freeze" not in summary
    assert "only at 0 °C or above" in summary


# What part charges and drives put in


def put_in(*entries):
    """(day, hours, amps of a charger, km/h, by the engine) of car 0."""
    day, hours, amps, kmh, engine = (np.array(column, float) for column in zip(*entries, strict=True))
    return PutIn(np.zeros(day.size, np.int64), day, hours, amps, kmh, engine.astype(bool))


def soc_after(*entries, **columns):
    """The level of a battery read at half charge twenty days ago, in a place of 20 °C, after entries."""
    fleet = cars(place=steady(20), drain_a=0.0, readings=read((TODAY - 20, 12.24)), **columns)
    state = known_state(replace(fleet, put_in=put_in(*entries)) if entries else fleet, TODAY, POLICY)
    return float(state.soc[0]), float(state.sd[0]), float(state.day[0])


def test_a_part_charge_counts_by_current_and_hours():
    unread = soc_after()[0]
    level, sd, day = soc_after((TODAY - 10, 4.0, 4.0, np.nan, 0))
    assert day == TODAY - 10
    assert level == pytest.approx(unread - 0.006 + 4 * 4 * 0.95 / 60, abs=0.02)
    assert soc_after((TODAY - 10, 4.0, 1.0, np.nan, 0))[0] < level
    assert soc_after((TODAY - 10, 4.0, np.nan, np.nan, 0))[1] > sd  # of an unknown current


def test_a_long_drive_charges_more_than_a_short_one_and_a_slow_dynamo_least():
    hour, long = soc_after((TODAY - 10, 1.0, np.nan, 60.0, 1)), soc_after((TODAY - 10, 4.0, np.nan, 60.0, 1))
    assert soc_after()[0] < hour[0] < long[0] < 0.98
    slow = soc_after((TODAY - 10, 1.0, np.nan, 15.0, 1), model_year=1955.0)
    assert slow[0] < hour[0]


def test_part_charges_add_up_in_their_order_and_never_say_full():
    twice = soc_after(*((TODAY - day, 4.0, 4.0, np.nan, 0) for day in (12, 10)))[0]
    often = soc_after(*((TODAY - day, 10.0, 4.0, np.nan, 0) for day in (12, 11, 10)))[0]
    assert soc_after((TODAY - 10, 4.0, 4.0, np.nan, 0))[0] < twice < often <= 0.98


def test_a_part_charge_puts_off_the_date_and_says_what_it_was():
    fleet = cars(readings=read((TODAY - 20, 12.24)), drain_a=0.0)
    topped = replace(fleet, put_in=put_in((TODAY - 1, 8.0, 4.0, np.nan, 0)))
    assert due(topped) > due(fleet)
    assert "after a part charge or a drive" in explain(topped, TODAY, POLICY).summary


def test_the_log_tells_what_went_in():
    log = LogOfCar()
    part = {"completed": False, "hours": 5, "amps": 3.0}
    log_entry(log, {"id": 1, "kind": "charge", "details": part}, TODAY - 9, [])
    log_entry(log, {"id": 2, "kind": "charge", "details": {"completed": True, "hours": 5}}, TODAY - 8, [])
    drive = {"driven": True, "minutes": 90, "distance_km": 60, "reached_temperature": True}
    log_entry(log, {"id": 3, "kind": "run_up", "details": drive}, TODAY - 7, [])
    log_entry(log, {"id": 4, "kind": "run_up", "details": {"driven": False, "minutes": 9}}, TODAY - 6, [])
    table = tables.put_in([log], [-np.inf])
    assert table.day.tolist() == [TODAY - 9, TODAY - 7]
    assert table.hours.tolist() == [5.0, 1.5]
    assert table.kmh[1] == 40.0
    assert table.by_engine.tolist() == [False, True]


# What is shown


def test_the_summary_says_it_as_a_barn_hand_would():
    fleet = cars(place=steady(6), charges=charged(TODAY - 10))
    summary = explain(fleet, TODAY, POLICY).summary
    assert summary.startswith(
        "At about 6 °C this 60 Ah calcium battery with a 20 mA drain falls from 97 % after its charge "
        "on 15 Nov 2026 to 75 % on"
    )
    assert "no flame or spark" in summary


def test_each_source_has_its_standing_and_each_step_its_numbers():
    reason = explain(cars(charges=charged(TODAY - 10)), TODAY, POLICY)
    assert all(source.standing for source in reason.sources)
    assert any(source.standing == "from memory, unverified" for source in reason.sources)
    assert all(any(ch.isdigit() for ch in step.worked) for step in reason.steps)
    assert {entry.basis for entry in reason.inputs} >= {"record", "care log", "climate", "policy"}


def test_an_explanation_is_for_one_car():
    with pytest.raises(BadInput, match="one car"):
        explain(cars(2), TODAY, POLICY)


def test_the_curve_falls_from_its_charge_and_carries_both_levels():
    fleet = cars(charges=charged(TODAY - 10))
    curve = band(fleet, np.arange(TODAY - 20, TODAY + 60), POLICY)
    assert np.isnan(curve.likely[:10]).all()
    assert curve.likely[10] == CHARGED_SOC
    assert (np.diff(curve.likely[10:]) <= 0).all()
    assert (curve.low[10:] <= curve.likely[10:]).all()
    assert (curve.likely[10:] <= curve.high[10:]).all()
    assert [(level.name, level.value) for level in curve.levels] == [("recharge", 0.75), ("sulphation", 0.5)]


def test_the_curve_meets_the_due_date():
    fleet = cars(charges=charged(TODAY - 10))
    day = due(fleet)
    curve = band(fleet, np.array([day - 1, day]), POLICY)
    assert curve.likely[1] == pytest.approx(POLICY.recharge_soc, abs=0.001)


def test_the_curve_is_full_while_on_the_maintainer_and_jumps_at_a_charge():
    fleet = cars(charges=charged(TODAY - 60, until=TODAY - 30))
    curve = band(fleet, np.array([TODAY - 45.0, TODAY - 30, TODAY - 20]), POLICY)
    assert curve.likely[:2].tolist() == [1.0, 1.0]
    assert curve.likely[2] < 0.95


def test_places_that_do_not_cover_today_are_named():
    with pytest.raises(BadInput, match="places"):
        window(cars(), TODAY + 20_000, POLICY)
