"""Brake fluid, coolant and oils: the equations' properties and the duties' windows."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.duties.brakes import brake_fluid
from scheduler.duties.conditions import FLUIDS, REGIMES, TAGS, Looks
from scheduler.duties.cooling import coolant
from scheduler.duties.driveline import axle_oil, gearbox_oil
from scheduler.duties.engine import engine_oil
from scheduler.duties.known import known
from scheduler.duties.policy import Policy
from scheduler.duties.table import BY_NAME
from scheduler.physics.climate import coldest
from scheduler.physics.fluids import brake_fluid as fluid_physics
from scheduler.physics.fluids.coolant import (
    drain_and_replace_litres,
    freezing_point_c,
    frost_margin_k,
    inhibitor_too_thin,
    table_end_share,
    volume_share_for,
)
from scheduler.physics.fluids.oil import interval_days, ran_short
from scheduler.vocabulary.duties import DUTY
from scheduler.vocabulary.errors import BadInput, OutOfRange
from scheduler.vocabulary.units import DAYS_PER_MONTH
from tests.scheduler.barn import RH_PCT, TODAY, a_place, cars, readings

POLICY = Policy()
MONTHS = DAYS_PER_MONTH
water = st.floats(0, 8)
share = st.floats(0, 0.578)
glycol = st.sampled_from(["ethylene", "propylene"])
quick = settings(max_examples=40, deadline=None)
few = settings(max_examples=12, deadline=None)  # a whole forecast each


# brake fluid: the equation
@quick
@given(water, water)
def test_more_water_never_raises_the_boiling_point(one, other):
    wetter, drier = max(one, other), min(one, other)
    boils = fluid_physics.boiling_point_c([wetter, drier], 230.0, fluid_physics.depression_k(230, 155))
    assert boils[0] <= boils[1] <= 230
    assert boils[0] >= 230 - fluid_physics.depression_k(230, 155)


@quick
@given(water)
def test_a_hair_more_water_changes_the_boiling_point_by_a_hair(at):
    boils = fluid_physics.boiling_point_c([at, min(at + 1e-6, 8)], 250.0, 140.0)
    assert abs(np.diff(boils)[0]) < 1e-3


@pytest.mark.parametrize("wrong", [-0.1, 8.1, np.nan])
def test_a_water_share_outside_the_estimate_is_refused_by_name(wrong):
    with pytest.raises(BadInput, match="water_pct"):
        fluid_physics.boiling_point_c(wrong, 250.0, 140.0)


def test_a_measurement_alone_can_condemn_the_fluid_but_water_never_silicone():
    wet = fluid_physics.must_replace([2.9, 3.0, 5.0, np.nan, 1.0], [1, 1, 0, 1, 0], [0, 0, 0, 0, 200])
    assert wet.tolist() == [False, True, False, False, True]


# brake fluid: the duty
def test_brake_fluid_is_due_two_years_after_the_change_with_a_tenth_either_way():
    fleet = cars(brake_fluid="dot_4", brake_fluid_changed=TODAY)
    due = brake_fluid.window(fleet, TODAY, POLICY)
    life = 24 * MONTHS
    assert (due.early[0], due.due[0], due.late[0]) == pytest.approx(
        (TODAY + 0.9 * life, TODAY + life, TODAY + 1.1 * life)
    )
    assert not due.assumed[0]


def test_water_at_the_limit_makes_brake_fluid_due_on_the_day_it_was_measured():
    wet = cars(
        brake_fluid="dot_4",
        brake_fluid_changed=TODAY - 100,
        readings=readings("brake_water", (0, TODAY - 3, 3.2)),
    )
    due = brake_fluid.window(wet, TODAY, POLICY)
    assert due.due[0] == due.early[0] == TODAY - 3
    assert due.limits[due.limit[0]] == "water measured in it"
    assert "3.2 %" in brake_fluid.explain(wet, TODAY, POLICY).summary


def test_water_at_the_wet_limit_is_late_at_once():
    soaked = cars(
        brake_fluid="dot_3",
        brake_fluid_changed=TODAY - 100,
        readings=readings("brake_water", (0, TODAY - 3, 3.7)),
    )
    assert brake_fluid.window(soaked, TODAY, POLICY).late[0] == TODAY - 3


def test_little_water_moves_the_change_on_by_a_year_but_never_past_the_third():
    plain, read, late = (
        cars(brake_fluid="dot_4", brake_fluid_changed=TODAY - days, **more)
        for days, more in (
            (500, {}),
            (500, {"readings": readings("brake_water", (0, TODAY - 1, 1.0))}),
            (950, {"readings": readings("brake_water", (0, TODAY - 1, 1.0))}),
        )
    )
    without, once, capped = (brake_fluid.window(fleet, TODAY, POLICY) for fleet in (plain, read, late))
    assert once.due[0] == pytest.approx(TODAY - 1 + 12 * MONTHS)
    assert once.due[0] > without.due[0]
    assert once.limits[once.limit[0]] == "so long after it was tested good"
    assert capped.due[0] == pytest.approx(TODAY - 950 + 36 * MONTHS)


@pytest.mark.parametrize("measured", [2.0, 2.5])
def test_water_between_good_and_bad_moves_nothing(measured):
    plain = cars(brake_fluid="dot_4", brake_fluid_changed=TODAY - 700)
    read = replace(plain, readings=readings("brake_water", (0, TODAY - 1, measured)))
    without, with_reading = (brake_fluid.window(fleet, TODAY, POLICY) for fleet in (plain, read))
    assert with_reading.due[0] == without.due[0]
    assert with_reading.late[0] == pytest.approx(TODAY - 700 + 36 * MONTHS)


@pytest.mark.parametrize(
    ("boils_c", "limit"), [(150.0, "water measured in it"), (225.0, "so long after it was tested good")]
)
def test_a_boiling_point_tells_of_its_water(boils_c, limit):
    plain = cars(brake_fluid="dot_4", brake_fluid_changed=TODAY - 500)
    read = replace(plain, readings=readings("brake_boiling_point", (0, TODAY - 1, boils_c)))
    window = brake_fluid.window(read, TODAY, POLICY)
    assert window.limits[window.limit[0]] == limit


@quick
@given(st.floats(0.0, 8.0), st.sampled_from([(205.0, 140.0), (230.0, 155.0), (260.0, 180.0)]))
def test_water_and_boiling_point_are_each_others_inverse(water, grade):
    fall = fluid_physics.depression_k(*grade)
    boils = fluid_physics.boiling_point_c(water, grade[0], fall)
    assert fluid_physics.water_by_boiling_pct(boils, grade[0], fall) == pytest.approx(water, abs=1e-6)


@pytest.mark.parametrize(
    ("ph", "moved"), [(8.5, 365.0), (7.2, 0.0), (6.5, -np.inf)], ids=["good", "between", "acid"]
)
def test_a_test_strip_moves_the_inhibitors_life_on_or_ends_it(ph, moved):
    plain = cars(coolant="eg_inorganic", coolant_changed=TODAY - 700, coolant_share=0.5)
    read = replace(plain, readings=readings("coolant_ph", (0, TODAY, ph)))
    without, with_strip = (coolant.window(fleet, TODAY, POLICY) for fleet in (plain, read))
    if moved > 0:
        assert with_strip.due[0] == pytest.approx(TODAY + 12 * MONTHS)
    elif moved == 0:
        assert with_strip.due[0] == without.due[0]
    else:
        assert with_strip.due[0] == TODAY
    longest = replace(read, fluid_changed=read.fluid_changed - 380)
    if moved > 0:
        assert coolant.window(longest, TODAY, POLICY).due[0] == pytest.approx(TODAY - 1080 + 36 * MONTHS)


def looked(day, fluid, good):
    return Looks(np.zeros(1, int), np.array([float(day)]), np.array([FLUIDS.index(fluid)]), np.array([good]))


@pytest.mark.parametrize("fluid", ["engine_oil", "gearbox_oil", "axle_oil"])
def test_a_look_that_is_good_moves_an_oil_on_and_one_that_is_bad_makes_it_due(fluid):
    window_of = BY_NAME[fluid].window
    rests = cars(regime=1, **{f"{fluid}_changed": TODAY - 2700 if fluid != "engine_oil" else TODAY - 800})
    good, bad, old = (
        replace(rests, looks=looked(day, fluid, fine))
        for day, fine in ((TODAY - 1, True), (TODAY - 1, False), (TODAY - 9000, True))
    )
    plain = window_of(rests, TODAY, POLICY).due[0]
    assert window_of(good, TODAY, POLICY).due[0] > max(plain, TODAY)
    assert window_of(bad, TODAY, POLICY).due[0] == min(plain, TODAY - 1)
    assert window_of(old, TODAY, POLICY).due[0] == plain  # of the oil before
    assert window_of(good, TODAY - 2, POLICY).due[0] == window_of(rests, TODAY - 2, POLICY).due[0]
    other = "axle_oil" if fluid != "axle_oil" else "gearbox_oil"
    assert window_of(replace(rests, looks=looked(TODAY - 1, other, False)), TODAY, POLICY).due[0] == plain


def test_of_an_oil_of_unknown_age_a_look_beats_the_guess():
    undated = cars(regime=1, stored_since=TODAY - 3000)
    good, bad = (replace(undated, looks=looked(TODAY - 1, "engine_oil", fine)) for fine in (True, False))
    assert engine_oil.window(good, TODAY, POLICY).due[0] == pytest.approx(TODAY - 1 + 12 * MONTHS)
    assert engine_oil.window(bad, TODAY, POLICY).due[0] == TODAY - 1
    assert not known(undated, DUTY["engine_oil"])[0]
    assert known(good, DUTY["engine_oil"])[0]


def test_oil_of_a_car_whose_runs_all_get_warm_serves_twice_as_long_as_of_one_run_short():
    warm, short = (
        cars(regime=0, engine_oil_changed=TODAY - 100, last_full_warm=TODAY - 20, last_engine_run=TODAY - ran)
        for ran in (20, 5)
    )
    unknown = cars(regime=0, engine_oil_changed=TODAY - 100)
    days = [engine_oil.window(fleet, TODAY, POLICY).due[0] - TODAY + 100 for fleet in (warm, short, unknown)]
    assert days[0] == pytest.approx(2 * days[1])
    assert days[1] == days[2]


def test_a_reading_from_before_the_change_says_nothing_of_the_new_fluid():
    fleet = cars(
        brake_fluid="dot_4",
        brake_fluid_changed=TODAY - 10,
        readings=readings("brake_water", (0, TODAY - 20, 5.0)),
    )
    assert brake_fluid.window(fleet, TODAY, POLICY).limit[0] == 0


def test_one_absurd_reading_is_set_aside_and_said():
    fleet = cars(
        brake_fluid="dot_4",
        brake_fluid_changed=TODAY - 10,
        readings=readings("brake_water", (0, TODAY - 2, 37.0)),
    )
    assert brake_fluid.window(fleet, TODAY, POLICY).limit[0] == 0
    assert any("not used" in line for line in brake_fluid.explain(fleet, TODAY, POLICY).assumptions)


def test_silicone_fluid_heeds_no_water_tester_and_is_drawn_off():
    fleet = cars(
        brake_fluid="dot_5",
        brake_fluid_changed=TODAY - 10,
        readings=readings("brake_water", (0, TODAY - 2, 6.0)),
    )
    due = brake_fluid.window(fleet, TODAY, POLICY)
    assert due.due[0] > TODAY
    assert due.limits[due.limit[0]] == "water lying free in silicone fluid"
    reason = brake_fluid.explain(fleet, TODAY, POLICY)
    assert "draw it off" in reason.summary
    assert not any("Boiling" in step.label for step in reason.steps)


def test_a_car_of_which_nothing_is_known_is_due_today_and_says_so():
    fleet = cars()
    for duty, window, explain in (
        ("brake", brake_fluid.window, brake_fluid.explain),
        ("oil", engine_oil.window, engine_oil.explain),
        ("axle", axle_oil.window, axle_oil.explain),
    ):
        due = window(fleet, TODAY, POLICY)
        assert due.due[0] == pytest.approx(TODAY), duty
        assert due.assumed[0], duty
        assert any("taken as due today" in line for line in explain(fleet, TODAY, POLICY).assumptions), duty


def test_an_undated_change_widens_the_window_on_both_sides():
    dated = cars(brake_fluid="dot_4", brake_fluid_changed=TODAY - 500 - 12 * MONTHS)
    undated = cars(brake_fluid="dot_4", stored_since=TODAY - 500)
    known, assumed = (brake_fluid.window(fleet, TODAY, POLICY) for fleet in (dated, undated))
    assert assumed.due[0] == pytest.approx(known.due[0])
    assert assumed.early[0] < known.early[0]
    assert np.isnan(assumed.late[0])  # from when on it does harm nobody knows


# coolant: the table
@quick
@given(share, share, glycol)
def test_more_glycol_never_freezes_sooner_within_the_table(one, other, kind):
    strong, weak = max(one, other), min(one, other)
    assert freezing_point_c(strong, kind) <= freezing_point_c(weak, kind) <= 0


@quick
@given(share, glycol)
def test_freezing_point_and_share_are_each_others_inverse(volume, kind):
    assert volume_share_for(freezing_point_c(volume, kind), kind) == pytest.approx(volume, abs=1e-9)


@pytest.mark.parametrize(("kind", "beyond"), [("ethylene", 0.58), ("propylene", 0.601), ("either", 1.0)])
def test_nothing_is_claimed_beyond_the_tables_end(kind, beyond):
    with pytest.raises(OutOfRange, match="volume_share"):
        freezing_point_c(beyond, kind)
    assert freezing_point_c(table_end_share(kind), kind) < -46


def test_an_unknown_glycol_is_taken_for_the_weaker_of_the_two():
    shares = np.linspace(0, 0.57, 58)
    weaker = np.maximum(freezing_point_c(shares, "ethylene"), freezing_point_c(shares, "propylene"))
    assert freezing_point_c(shares, "either").tolist() == weaker.tolist()


@pytest.mark.parametrize(("have", "want", "refill"), [(0.5, 0.3, 1.0), (0.3, 0.5, 0.4), (-0.1, 0.5, 1.0)])
def test_a_refill_that_cannot_reach_its_strength_is_refused(have, want, refill):
    with pytest.raises(BadInput, match="want_share"):
        drain_and_replace_litres(8.0, have, want, refill)


@quick
@given(st.floats(0, 0.4), st.floats(0.45, 0.55))
def test_what_is_mixed_has_the_strength_that_was_wanted(have, want):
    litres = drain_and_replace_litres(10.0, have, want)
    assert ((10 - litres) * have + litres) / 10 == pytest.approx(want)


def test_thin_coolant_lacks_inhibitor_and_margin_may_be_negative():
    assert inhibitor_too_thin([0.29, 0.30]).tolist() == [True, False]
    assert frost_margin_k(-20.0, -15.0) == -5


# coolant: the duty
STRONG = {"coolant": "eg_organic", "coolant_share": 0.5}


def test_strong_coolant_is_due_when_its_inhibitor_is_spent():
    due = coolant.window(cars(coolant_changed=TODAY - 100, **STRONG), TODAY, POLICY)
    assert due.limits[due.limit[0]] == "life of the inhibitor"
    assert due.due[0] == pytest.approx(TODAY - 100 + 60 * MONTHS)


def test_weak_coolant_is_due_before_the_first_hard_frost_and_late_when_it_freezes():
    place = a_place("open")
    fleet = cars(place=place, coolant="eg_organic", coolant_share=0.25, coolant_changed=TODAY - 100)
    summer = TODAY - 130
    due = coolant.window(replace(fleet, fluid_changed=fleet.fluid_changed - 100), summer, POLICY)
    assert due.limits[due.limit[0]] == "frost at this strength"
    cold, freezes = coldest(place, POLICY.cold_spell_k), freezing_point_c(0.25, "ethylene")
    assert cold[int(due.due[0]) - place.first_day] <= freezes + POLICY.coolant_margin_k
    assert cold[int(due.due[0]) - 1 - place.first_day] > freezes + POLICY.coolant_margin_k
    assert due.early[0] < due.due[0] < due.late[0]
    assert cold[int(due.late[0]) - place.first_day] <= freezes


def test_the_reason_says_how_much_to_drain_and_fill_for_the_coming_cold():
    weak, strong = (
        coolant.explain(
            cars(
                place=a_place("open"), coolant="eg_organic", coolant_share=share, coolant_changed=TODAY - 100
            ),
            TODAY,
            POLICY,
        ).steps
        for share in (0.25, 0.5)
    )
    (step,) = [step for step in weak if step.label == "To strengthen it"]
    assert "of every 10 L" in step.worked
    assert not any(step.label == "To strengthen it" for step in strong)


def test_a_heated_building_has_no_frost_limit():
    fleet = cars(place=a_place("heated"), coolant="eg_organic", coolant_share=0.25, coolant_changed=TODAY)
    assert coolant.window(fleet, TODAY, POLICY).limit[0] == 0


def test_a_tested_freezing_point_goes_before_the_recorded_share():
    fleet = cars(place=a_place("open"), coolant_changed=TODAY - 100, **STRONG)
    tested = replace(fleet, readings=readings("coolant_freeze_point", (0, TODAY - 20, -5.0)))
    due = coolant.window(tested, TODAY, POLICY)
    assert due.limits[due.limit[0]] == "frost at this strength"
    assert coolant.strength(tested, TODAY).freezing_c[1, 0] == -5


def test_a_share_beyond_the_table_is_not_believed_and_the_car_still_gets_dates():
    fleet = cars(coolant="eg_organic", coolant_share=0.9, coolant_changed=TODAY - 100)
    due = coolant.window(fleet, TODAY, POLICY)
    assert due.assumed[0]
    assert not np.isnan(due.due[0])
    assert any("beyond the table" in line for line in coolant.explain(fleet, TODAY, POLICY).assumptions)


@few
@given(st.floats(0.0, 0.57), st.floats(0.0, 0.57))
def test_stronger_coolant_is_never_due_sooner(one, other):
    fleet = cars(
        2,
        place=a_place("open"),
        coolant="eg_organic",
        coolant_changed=TODAY - 100,
        coolant_share=[max(one, other), min(one, other)],
    )
    due = coolant.window(fleet, TODAY, POLICY)
    assert due.due[0] >= due.due[1]


def test_a_drained_tag_holds_coolant_and_engine_oil_but_not_brakes():
    fleet = cars()
    fleet.tags[:, TAGS.index("drained")] = True
    assert coolant.window(fleet, TODAY, POLICY).hold[0] == 0
    assert engine_oil.window(fleet, TODAY, POLICY).hold[0] == 0
    assert brake_fluid.window(fleet, TODAY, POLICY).hold[0] == -1


def test_the_coolant_chart_shows_cold_below_the_usual_night_and_both_lines():
    fleet = cars(coolant_changed=TODAY - 100, **STRONG)
    chart = coolant.band(fleet, TODAY + np.arange(0.0, 365, 7), POLICY)
    assert (chart.low <= chart.likely).all()
    assert (chart.likely <= chart.high).all()
    assert [level.name for level in chart.levels] == ["coolant freezes", "act"]


# oils
@quick
@given(st.floats(0, 1), st.floats(0, 1))
def test_damp_never_lengthens_an_oil_interval(one, other):
    days = interval_days(12.0, [max(one, other), min(one, other)], 0.75)
    assert 0.75 * 12 * MONTHS - 1e-9 <= days[0] <= days[1] <= 12 * MONTHS + 1e-9


def test_a_run_after_the_last_full_warm_one_is_a_short_run():
    short = ran_short([10, 10, 10, np.nan], [5, 10, np.nan, 5], [0, 0, 0, 0])
    assert short.tolist() == [True, False, True, False]


def test_engine_oil_of_a_run_car_is_due_at_six_months_and_of_a_resting_one_at_two_years():
    dry = a_place("humidity_controlled")
    fleet = cars(
        2,
        place=dry,
        engine_oil="oil_mineral",
        engine_oil_changed=TODAY,
        regime=[REGIMES.index("exercised"), REGIMES.index("dormant")],
    )
    due = engine_oil.window(fleet, TODAY, POLICY)
    assert (due.due - TODAY).tolist() == pytest.approx([6 * MONTHS, 24 * MONTHS])


def test_short_runs_bring_a_resting_cars_oil_forward_and_are_named():
    dry = a_place("humidity_controlled")
    fleet = cars(
        place=dry,
        engine_oil="oil_mineral",
        engine_oil_changed=TODAY - 60,
        last_full_warm=TODAY - 50,
        last_engine_run=TODAY - 20,
        regime=REGIMES.index("dormant"),
    )
    due = engine_oil.window(fleet, TODAY, POLICY)
    assert due.due[0] == pytest.approx(TODAY - 60 + 6 * MONTHS)
    assert due.limits[due.limit[0]].startswith("short runs")
    assert "short" in engine_oil.explain(fleet, TODAY, POLICY).summary


def test_a_damp_place_brings_oil_forward():
    regime = REGIMES.index("dormant")
    damp, dry = (
        gearbox_oil.window(
            cars(place=a_place("open", rh_pct=rh), gearbox_oil_changed=TODAY, regime=regime), TODAY, POLICY
        ).due[0]
        for rh in (90.0, 40.0)
    )
    assert TODAY < damp < dry


def test_preservative_oil_stays_in():
    fleet = cars(engine_oil="oil_preservative", engine_oil_changed=TODAY - 1000)
    due = engine_oil.window(fleet, TODAY, POLICY)
    assert due.holds[due.hold[0]].startswith("preservative oil")


@few
@given(st.floats(0, 3000), st.floats(0, 3000))
def test_a_later_change_never_makes_any_fluid_due_earlier(one, other):
    age = [max(one, other), min(one, other)]
    for name, window in (
        ("brake_fluid", brake_fluid.window),
        ("engine_oil", engine_oil.window),
        ("gearbox_oil", gearbox_oil.window),
        ("coolant", coolant.window),
    ):
        fleet = cars(2, **{f"{name}_changed": TODAY - np.array(age)})
        due = window(fleet, TODAY, POLICY)
        assert due.due[0] <= due.due[1] + 1e-9, name
        assert due.late[0] <= due.late[1] + 1e-9, name


def test_every_reason_names_its_sources_and_their_standing():
    fleet = cars(stored_since=TODAY - 400)
    for explain in (brake_fluid.explain, coolant.explain, engine_oil.explain, axle_oil.explain):
        reason = explain(fleet, TODAY, POLICY)
        assert reason.summary
        assert reason.steps
        assert all(source.text and source.standing for source in reason.sources)
        assert any("not recorded" in line for line in reason.assumptions)


def test_a_reason_is_for_one_car():
    with pytest.raises(BadInput, match="one car"):
        brake_fluid.explain(cars(2), TODAY, POLICY)


def test_the_barn_is_damp_enough_to_matter():
    assert (RH_PCT > 75).sum() >= 6
