"""A simulated year of care: counts by hand where the answer is known, and what changes must do."""

from dataclasses import replace

import numpy as np
import pytest

from scheduler.duties.conditions import FLUIDS, REGIMES, Charges, FuelEvents
from scheduler.duties.policy import Policy
from scheduler.physics.battery.batteries import BATTERIES
from scheduler.physics.fuel.fuels import CODES
from scheduler.physics.materials import position
from scheduler.vocabulary.errors import BadInput
from scheduler.year import KINDS, Changes, Rates, compare, due
from scheduler.year.changes import Practice, changed
from scheduler.year.due import AT
from scheduler.year.year import YEAR_DAYS, year_of_care
from tests.scheduler.barn import TODAY, a_place, cars

POLICY = Policy()
KIND = {name: index for index, name in enumerate(KINDS)}
NOW = Practice()


def kept(n=1, place=None, **columns):
    """Cars whose record is complete and fresh, so that only the coming year asks for anything."""
    facts = {
        "regime": REGIMES.index("exercised"),
        "fuel_system": 0,
        "stored_since": TODAY - 40,
        "last_road_use": TODAY - 1,
        "last_full_warm": TODAY - 1,
        "last_engine_run": TODAY - 1,
        "last_moved": TODAY - 1,
        "last_attended": TODAY - 1,
        "last_inspected": TODAY - 1,
        "extraction": True,
        "chemistry": position(BATTERIES, "calcium"),
        "capacity_ah": 60.0,
        "battery_volts": 12.0,
        "battery_made": TODAY - 400,
        "battery_installed": TODAY - 399,
        "drain_a": 0.02,
        "fuel": CODES["petrol_e5"],
        "tank_litres": 50.0,
        "venting": 1,
        "placard_kpa": 200.0,
    }
    fleet = cars(n, place or a_place(), **facts | columns)
    rows, day = np.arange(n), np.full(n, TODAY - 1)
    filled = FuelEvents(
        rows, day, np.zeros(n, np.int64), np.full(n, 45.0), *(np.full(n, np.nan) for _ in range(2))
    )
    return replace(
        fleet,
        fluid_changed=np.full((n, len(FLUIDS)), TODAY - 1),
        fuel_events=filled,
        charges=Charges(rows, day, day, np.ones(n, bool)),
    )


def done(year, kind):
    return year.done[KIND[kind]]


def scattered(n=24):
    """Cars of every kind of neglect, at three places."""
    random = np.random.default_rng(5)
    places = (a_place("open"), a_place(), a_place("heated"))
    back = {
        name: np.where(random.random(n) < 0.8, TODAY - random.integers(0, 700, n).astype(float), np.nan)
        for name in (
            "stored_since",
            "last_road_use",
            "last_full_warm",
            "last_moved",
            "last_attended",
            "last_inspected",
            "battery_made",
            "battery_installed",
        )
    }
    fleet = kept(
        n,
        **back,
        regime=random.integers(0, 3, n),
        chemistry=random.integers(0, 8, n),
        drain_a=random.uniform(0, 0.05, n),
        extraction=random.random(n) < 0.6,
        on_stands=random.random(n) < 0.2,
        fuel=random.integers(0, 10, n),
        venting=random.integers(0, 3, n),
        tank_material=random.integers(0, 5, n),
        on_maintainer=random.random(n) < 0.3,
    )
    return replace(
        fleet,
        place=random.integers(0, 3, n),
        places=places,
        tags=random.random(fleet.tags.shape) < 0.05,
        fluid_changed=TODAY - random.integers(0, 1500, (n, len(FLUIDS))).astype(float),
    )


def test_a_walk_round_in_the_open_is_done_every_seventh_day_of_the_year():
    year = year_of_care(kept(place=a_place("open")), TODAY, POLICY, NOW)
    assert done(year, "inspection")[0] == len(range(6, YEAR_DAYS, 7))


def test_the_walk_round_keeps_to_the_threshold():
    policy = replace(POLICY, inspect_open_days=1.0)
    year = year_of_care(kept(place=a_place("open")), TODAY, policy, NOW)
    assert done(year, "inspection")[0] == YEAR_DAYS


def test_a_drain_sets_the_number_of_charges():
    # 100 mA takes 60 Ah from charged to the recharge level in about 5.5 days, whatever the weather does.
    drained = kept(drain_a=0.1, battery_made=TODAY - 2, battery_installed=TODAY - 2)
    charges = done(year_of_care(drained, TODAY, POLICY, NOW), "charge")[0]
    assert YEAR_DAYS / 5.8 - 2 <= charges <= YEAR_DAYS / 4.9 + 1


def test_energy_is_what_the_drain_took_over_both_efficiencies():
    drained = kept(drain_a=0.1, battery_made=TODAY - 2, battery_installed=TODAY - 2)
    kwh = year_of_care(drained, TODAY, POLICY, NOW).charged_wh[0] / 1000
    taken = 0.1 * 24 * YEAR_DAYS * 12 / 1000
    assert taken / 0.70 / 0.80 * 0.95 <= kwh <= taken / 0.70 / 0.80 * 1.15  # self-discharge adds a little


def test_an_overdue_duty_is_done_once_on_the_first_day():
    stale = replace(kept(), fluid_changed=np.full((1, len(FLUIDS)), TODAY - 1000))
    year = year_of_care(stale, TODAY, POLICY, NOW)
    assert done(year, "brake_fluid")[0] == 1
    assert year.alone_days[AT["brake_fluid"], 0] == YEAR_DAYS
    assert year.cared_days[AT["brake_fluid"], 0] == 0


def test_a_held_duty_is_counted_as_held_and_never_done():
    year = year_of_care(kept(regime=REGIMES.index("preserved")), TODAY, POLICY, NOW)
    assert done(year, "run_up")[0] == 0
    assert year.held[AT["run_up"], 0]
    assert year.alone_days[AT["run_up"], 0] == 0


def test_changing_stale_fuel_brings_the_run_up_back():
    old = kept()
    old = replace(old, fuel_events=replace(old.fuel_events, day=np.full(1, TODAY - 700)))
    year = year_of_care(old, TODAY, POLICY, NOW)
    assert done(year, "fuel_change")[0] >= 1
    assert done(year, "run_up")[0] >= 4


def test_ethanol_in_a_glass_fibre_tank_is_changed_for_petrol_without():
    glass, steel = (kept(fuel=CODES["petrol_e10"], tank_material=material) for material in (4, 1))
    of_glass, of_steel = (
        done(year_of_care(each, TODAY, POLICY, NOW), "fuel_change")[0] for each in (glass, steel)
    )
    assert 1 <= of_glass <= of_steel + 1  # at once, then as often as any other fuel


def test_where_no_charge_keeps_a_battery_liquid_its_risk_days_run_on():
    arctic = kept(place=a_place("open", warmer_k=-44.0), isolated=True)
    year = year_of_care(arctic, TODAY, POLICY, NOW)
    assert done(year, "charge")[0] <= 2
    assert year.cared_days[AT["charge"], 0] > YEAR_DAYS / 2


def test_care_on_time_leaves_no_days_past_harm():
    year = year_of_care(kept(4), TODAY, POLICY, NOW)
    assert year.cared_days.sum() == 0
    assert year.alone_days.sum() > 0


def test_forecasting_only_what_care_has_touched_changes_nothing(monkeypatch):
    fleet = scattered()
    quick = year_of_care(fleet, TODAY, POLICY, NOW)
    monkeypatch.setattr(due, "TOUCHES", dict.fromkeys(due.DUTY_NAMES, due.DUTY_NAMES))
    thorough = year_of_care(fleet, TODAY, POLICY, NOW)
    np.testing.assert_array_equal(quick.done, thorough.done)
    np.testing.assert_array_equal(quick.held, thorough.held)
    np.testing.assert_allclose(quick.charged_wh, thorough.charged_wh, rtol=1e-6)


def test_each_car_alone_has_the_year_it_has_in_the_fleet():
    fleet = scattered(12)
    together = year_of_care(fleet, TODAY, POLICY, NOW)
    for row in range(len(fleet)):
        alone = year_of_care(fleet.take([row]), TODAY, POLICY, NOW)
        np.testing.assert_array_equal(alone.done[:, 0], together.done[:, row])
        np.testing.assert_array_equal(alone.held[:, 0], together.held[:, row])


def test_nothing_changed_gives_the_same_year_twice():
    comparison = compare(scattered(8), Changes(), TODAY, POLICY, Rates())
    assert comparison.now == comparison.changed


def test_maintainers_end_the_charges_and_draw_their_own_current():
    comparison = compare(kept(3, drain_a=0.03), Changes(maintainer=True), TODAY, POLICY, Rates())
    assert comparison.now.done["charge"] > 0
    assert comparison.changed.done["charge"] == 0
    assert comparison.now.maintainer_kwh == 0
    idle_kwh = 3 * 3.0 * 24 * YEAR_DAYS / 1000
    assert comparison.changed.maintainer_kwh > idle_kwh


def test_unplugging_maintainers_brings_the_charges_back():
    fleet = kept(2, on_maintainer=True)
    comparison = compare(fleet, Changes(maintainer=False), TODAY, POLICY, Rates())
    assert comparison.now.done["charge"] == 0
    assert comparison.changed.done["charge"] > 0
    assert comparison.changed.maintainer_kwh == 0


def test_an_open_isolator_saves_charges():
    comparison = compare(kept(2, drain_a=0.05), Changes(isolated=True), TODAY, POLICY, Rates())
    assert comparison.changed.done["charge"] < comparison.now.done["charge"]


def test_a_better_battery_asks_for_fewer_charges():
    old = kept(2, chemistry=position(BATTERIES, "flooded_antimony"), isolated=True)
    comparison = compare(old, Changes(chemistry="calcium"), TODAY, POLICY, Rates())
    assert comparison.changed.done["charge"] < comparison.now.done["charge"]


def test_a_warmer_place_ages_fuel_and_batteries_sooner():
    fleet = kept(2, chemistry=position(BATTERIES, "low_antimony"), isolated=True)
    warm = Changes(places=(a_place(warmer_k=15.0),))
    comparison = compare(fleet, warm, TODAY, POLICY, Rates())
    assert comparison.changed.done["fuel_change"] >= comparison.now.done["fuel_change"]
    assert comparison.changed.alone_days["fuel_change"] > comparison.now.alone_days["fuel_change"]


def test_a_roof_halves_the_walk_rounds():
    comparison = compare(kept(place=a_place("open")), Changes(places=(a_place(),)), TODAY, POLICY, Rates())
    assert comparison.changed.done["inspection"] < comparison.now.done["inspection"] / 2


def test_without_stabiliser_none_is_poured_and_fuel_is_changed_no_later():
    comparison = compare(kept(3), Changes(stabilise="never"), TODAY, POLICY, Rates())
    assert comparison.changed.done["stabiliser"] == 0
    assert comparison.changed.held["stabiliser"] == 3
    assert comparison.changed.money["stabiliser"] == 0
    assert comparison.changed.done["fuel_change"] >= comparison.now.done["fuel_change"]


def test_a_dose_with_each_fill_takes_the_place_of_the_later_one():
    comparison = compare(kept(3), Changes(stabilise="each_fill"), TODAY, POLICY, Rates())
    assert comparison.changed.done["stabiliser"] == 0
    assert comparison.now.done["stabiliser"] > 0


def test_a_diesel_is_never_filled_with_petrol():
    fleet = kept(2, fuel=np.array([CODES["diesel_b7"], CODES["petrol_e10"]]))
    other = changed(fleet, Changes(grade="petrol_e0"), TODAY)
    assert list(other.fuel) == [CODES["diesel_b7"], CODES["petrol_e0"]]


def test_a_threshold_moves_the_year():
    comparison = compare(kept(2), Changes(thresholds={"recharge_soc": 0.9}), TODAY, POLICY, Rates())
    assert comparison.changed.done["charge"] > comparison.now.done["charge"]


def test_preserved_cars_are_not_run():
    comparison = compare(kept(2), Changes(regime="preserved"), TODAY, POLICY, Rates())
    assert comparison.now.done["run_up"] > 0
    assert comparison.changed.done["run_up"] == 0
    assert comparison.changed.held["run_up"] == 2


def test_money_follows_the_rates():
    cheap = compare(kept(2), Changes(), TODAY, POLICY, Rates(hour=0, kwh=0, fuel=0, stabiliser=0, fluid=0))
    assert cheap.now.total_money == 0
    dear = compare(kept(2), Changes(), TODAY, POLICY, Rates(hour=100, kwh=0, fuel=0, stabiliser=0, fluid=0))
    assert dear.now.total_money == pytest.approx(100 * dear.now.total_hours)


def test_a_sample_stands_for_all():
    one = compare(kept(2), Changes(), TODAY, POLICY, Rates()).now
    ten = one.scaled(10)
    assert ten.cars == 20
    assert ten.total_done == 10 * one.total_done
    assert ten.total_money == pytest.approx(10 * one.total_money)


@pytest.mark.parametrize(
    ("changes", "named"),
    [
        (Changes(fill_share=0.0), "fill_share"),
        (Changes(fill_share=1.2), "fill_share"),
        (Changes(stabilise="sometimes"), "stabilise"),
        (Changes(grade="treacle"), "grade"),
        (Changes(regime="ignored"), "regime"),
        (Changes(chemistry="potato"), "name"),
        (Changes(places=()), "places"),
        (Changes(thresholds={"patience": 1.0}), "thresholds"),
    ],
)
def test_what_cannot_be_is_named(changes, named):
    with pytest.raises(BadInput, match=named):
        compare(kept(), changes, TODAY, POLICY, Rates())
