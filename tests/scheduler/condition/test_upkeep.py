"""What a standing car needs next: likelihood by the standing that matters, cost by stated rates."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.condition import (
    PutAway,
    estimate_care,
    needs,
    outlooks,
    price_terms,
    spells,
    stood,
)
from scheduler.condition.estimate import duty_line, rated, repair_line
from scheduler.condition.findings import findings
from scheduler.condition.outlook import Stood, outlook
from scheduler.condition.prices import Rates
from scheduler.condition.remedies import REMEDIES
from scheduler.condition.systems import SYSTEMS
from scheduler.duties.conditions import FUEL_SYSTEMS, REGIMES, Charges
from scheduler.duties.policy import Policy
from scheduler.vocabulary import systems as vocabulary
from scheduler.vocabulary.duties import DUTIES
from scheduler.week.work import WORK
from tests.scheduler.barn import TODAY, cars

RATES, PRICES = rated({})


def chances(car, late=(), seen=()):
    drove, rolled = (_since(car, day) for day in (car.last_road_use[0], car.last_moved[0]))
    road = stood(car, TODAY, Policy(), set(late), drove, PutAway())
    each = spells(car, TODAY, road, rolled, 0.0)
    return {one.system: one for one in outlooks(car, TODAY, Policy(), each, seen)}


def _since(car, day):
    """By evidence: the day, or that it was laid up here and no more."""
    return Stood(TODAY - car.stored_since[0], None) if np.isnan(day) else Stood(TODAY - day, TODAY - day)


def ran(days_ago, **more):
    day = TODAY - days_ago
    return cars(last_full_warm=day, last_road_use=day, last_moved=day, stored_since=TODAY - 900.0, **more)


def charged(car, days_ago):
    one = np.zeros(1, np.int64)
    day = np.array([TODAY - days_ago])
    return replace(car, charges=Charges(one, day, day, np.array([True])))


def test_a_longer_stand_is_never_likelier_sound():
    short, long = chances(ran(30.0)), chances(ran(900.0))
    assert all(long[system].likely >= short[system].likely for system in short)
    assert long["valves"].likely > short["valves"].likely


def test_a_battery_is_told_by_its_last_charge_and_not_by_the_last_drive():
    stood = ran(300.0)
    assert chances(charged(stood, 5.0), late=["charge"])["battery"].likely < chances(stood)["battery"].likely
    assert chances(charged(stood, 5.0))["valves"] == chances(stood)["valves"]


def test_what_a_roll_frees_is_told_by_the_last_roll():
    rolled = replace(ran(300.0), last_moved=np.array([TODAY - 4]))
    assert chances(rolled)["clutch"].likely < chances(ran(300.0))["clutch"].likely
    assert chances(rolled)["bores"] == chances(ran(300.0))["bores"]


def test_an_unknown_last_run_leaves_the_longest_time_open():
    silent = chances(cars(stored_since=TODAY - 100.0))
    assert silent["exhaust"].high > silent["exhaust"].low
    assert any("nobody knows how much longer" in reason for reason in silent["exhaust"].reasons)
    assert silent["exhaust"].words == "nobody knows"


def test_a_part_that_a_fuel_system_has_not_is_not_told_of():
    injected = ran(300.0, fuel_system=FUEL_SYSTEMS.index("electronic_injection"))
    assert {"carburettor", "points"}.isdisjoint(chances(injected))
    assert {"carburettor", "points"} <= chances(ran(300.0)).keys()


def test_care_on_time_spares_and_lateness_takes_that_away():
    kept = ran(200.0, regime=REGIMES.index("exercised"))
    assert chances(kept)["bores"].likely < chances(kept, late=["run_up"])["bores"].likely


def test_what_a_walk_round_found_overrules_the_curve():
    nest = findings([(date(2026, 11, 1), "mouse nest in the air cleaner")], None)
    assert chances(ran(10.0), seen=nest)["wiring"].likely > 0.9
    clean = findings([], date(2026, 11, 20))
    assert chances(ran(400.0), seen=clean)["wiring"].likely < 0.1


def test_words_without_a_sign_point_at_nothing():
    assert findings([(date(2026, 11, 1), "dust on the cover")], None) == ()


def test_every_duty_and_every_repair_stands_in_one_group():
    parts = [part for row in vocabulary.SYSTEMS for part in row.parts]
    assert {duty.system for duty in DUTIES} <= {row.code for row in vocabulary.SYSTEMS}
    assert sorted(parts) == sorted(REMEDIES)
    assert set(parts) | {"petrol"} == {system.name for system in SYSTEMS}


def test_a_duty_costs_its_minutes_and_what_is_filled_in():
    """An hour at 60: a stabiliser dose of 5 to 20 minutes, 40 litres at 0.1."""
    cost = duty_line("stabiliser", Rates(hour=60.0, stabiliser=0.1), tank_litres=40.0)
    assert (cost.money[0], cost.money[2]) == (pytest.approx(9.0), pytest.approx(24.0))


def test_an_unknown_tank_widens_the_cost_of_fuel():
    known, unknown = duty_line("fuel_change", RATES, 50.0).money, duty_line("fuel_change", RATES).money
    assert unknown[0] < known[0] < known[2] < unknown[2]


def exhaust_after(*days):
    part = next(one for one in outlook(Stood(*days)) if one.system == "exhaust")
    return repair_line(part, PRICES)


def test_a_repair_counts_by_its_chance_at_both_ends():
    hour, part = PRICES.workshop_hour, PRICES.exhaust
    full = exhaust_after(20_000.0, 20_000.0).money
    assert full == (hour * 1 + part, hour * 2 + part, hour * 4 + part)
    assert exhaust_after(1.0, 1.0).money == (0.0, 0.0, 0.0)
    assert exhaust_after(1.0, None).money[0] == 0.0 < exhaust_after(1.0, None).money[2] == full[2]
    assert "nobody knows" in exhaust_after(1.0, None).because


def test_a_car_in_care_pays_for_what_is_asked_for_and_for_what_was_found():
    nest = findings([(date(2026, 11, 1), "mouse nest in the air cleaner")], None)
    left, seen = outlook(Stood(9000.0, 9000.0)), outlook(Stood(9000.0, 9000.0), nest)
    assert estimate_care(left, (), RATES, PRICES).lines == ()
    [line] = estimate_care(seen, (), RATES, PRICES).lines
    assert (line.system, line.because) == ("car", "found at the car")
    assert [one.work for one in estimate_care(left, {"charge"}, RATES, PRICES).lines] == ["charge"]


def test_the_total_is_its_parts_and_nothing_else():
    outlook_, asked = outlook(Stood(400.0, 400.0)), {"charge", "brake_fluid"}
    cost = estimate_care(outlook_, asked, RATES, PRICES, 50.0)
    systems = needs(outlook_, asked, cost)
    assert cost.money == pytest.approx(np.sum([each.cost for each in systems], axis=0))
    assert [each.title for each in systems] == [row.title for row in vocabulary.SYSTEMS]


@settings(max_examples=30, deadline=None)
@given(
    days=st.floats(0, 9000),
    longer=st.floats(0, 9000),
    asked=st.sets(st.sampled_from(sorted(WORK))),
    rate=st.floats(0, 500),
)
def test_least_is_never_above_most_and_dearer_hours_never_make_it_cheaper(days, longer, asked, rate):
    parts = outlook(Stood(days, days + longer))
    prices = [replace(PRICES, workshop_hour=hour) for hour in (rate, rate + 10)]
    cheap, dear = (
        [repair_line(part, own).money for part in parts if part.system in REMEDIES] for own in prices
    )
    duties = estimate_care(parts, asked, RATES, PRICES).money
    for low, likely, high in [*cheap, duties]:
        assert 0 <= low <= likely <= high
    assert all(
        one <= other for a, b in zip(cheap, dear, strict=True) for one, other in zip(a, b, strict=True)
    )


def test_every_price_says_why_it_is_what_it_is():
    assert all(term.reason and term.low <= term.default <= term.high for term in price_terms())


def test_rates_by_name_replace_defaults_and_leave_the_rest():
    rates, prices = rated({"hour": 99.0, "tyre": 5.0})
    assert (rates.hour, prices.tyre) == (99.0, 5.0)
    assert (rates.fuel, prices.battery) == (Rates().fuel, PRICES.battery)
