"""What is to be done with a battery: by volts, cells, load, maintainer, drain, kind."""

from dataclasses import replace

import numpy as np
import pytest

from scheduler.duties.battery.charge import explain, window
from scheduler.duties.battery.charge.holds import CONDEMNED, CUT_OFF, HOLDS, UNSOUND, WEAK
from scheduler.duties.battery.charge.now import battery_now
from scheduler.duties.battery.charge.signs import signs_of
from scheduler.duties.battery.charge.verdict import VERDICTS, verdicts
from scheduler.duties.battery.charge.volts import rested_volts
from scheduler.duties.car import inspection
from scheduler.duties.conditions import READING_KINDS, Charges, Readings
from scheduler.duties.policy import Policy
from scheduler.duties.windows import NOT_HELD
from tests.scheduler.batteries import TODAY, cars, charged, read, valley

POLICY = Policy()


def verdict(fleet):
    now = battery_now(fleet, TODAY, POLICY)
    return VERDICTS[int(verdicts(signs_of(fleet, now, TODAY, POLICY))[0])]


def under_load(fleet, value, at_c=20.0, kind="load_volts", day=TODAY):
    """The same car with a test under load added to its readings."""
    one = read((day, value), kind=kind)
    one = replace(one, temperature_c=np.array([at_c]))
    old = fleet.readings
    pairs = zip(vars(old).values(), vars(one).values(), strict=True)
    return replace(fleet, readings=Readings(*(np.concatenate(pair) for pair in pairs)))


def cells(*gravities, day=TODAY - 1):
    n = len(gravities)
    same = np.ones(n)
    kind = np.full(n, READING_KINDS.index("specific_gravity"))
    return Readings(
        np.zeros(n, np.int64),
        day * same,
        kind,
        np.array(gravities),
        26.7 * same,
        24 * same,
        np.arange(1, n + 1),
    )


# 12 V: cells lost among full, half charged and empty ones; one reversed (computed, Bode 1977)
@pytest.mark.parametrize(
    "volts", [8.43, 6.32, 4.22, 2.11, 0.0, 10.20, 8.16, 4.08, 9.90, 5.94, 1.98, 8.20, 0.04]
)
def test_volts_of_dead_and_reversed_cells_are_looked_at_and_never_charged(volts):
    fleet = cars(readings=read((TODAY - 2, volts)))
    assert verdict(fleet) == "inspect"
    assert window(fleet, TODAY, POLICY).hold[0] == UNSOUND
    summary = explain(fleet, TODAY, POLICY).summary
    assert f"It read {volts:.2f} V" in summary
    assert "Do not charge it yet" in summary
    look = inspection.window(fleet, TODAY, POLICY)
    assert look.due[0] == TODAY - 2
    assert look.limits[look.limit[0]] == "its battery reads like no sound one"


def test_somebody_who_has_looked_is_not_sent_again_and_a_full_charge_ends_it():
    fleet = cars(readings=read((TODAY - 2, 4.0)), last_inspected=TODAY - 1)
    assert inspection.window(fleet, TODAY, POLICY).due[0] > TODAY
    assert window(fleet, TODAY, POLICY).hold[0] == UNSOUND
    mended = replace(fleet, charges=charged(TODAY - 1))
    assert window(mended, TODAY, POLICY).hold[0] == NOT_HELD
    assert verdict(mended) == "fine"


@pytest.mark.parametrize(("volts", "word"), [(12.65, "fine"), (12.30, "charge"), (11.7, "recover")])
def test_a_sound_battery_is_charged_or_brought_back(volts, word):
    fleet = cars(readings=read((TODAY - 1, volts)))
    assert verdict(fleet) == word
    assert window(fleet, TODAY, POLICY).hold[0] == NOT_HELD


def test_a_six_volt_battery_is_judged_by_half():
    assert verdict(cars(battery_volts=6.0, readings=read((TODAY - 1, 4.22)))) == "inspect"
    assert verdict(cars(battery_volts=6.0, readings=read((TODAY - 1, 6.15)))) == "charge"


def test_ten_years_connected_reads_as_dead():
    fleet = cars(stored_since=TODAY - 3650.0, battery_made=TODAY - 4000.0)
    assert verdict(fleet) == "replace"
    low, likely, high = rested_volts(fleet, battery_now(fleet, TODAY, POLICY), TODAY)[:, 0]
    assert low == 0.0
    assert likely < 6.0
    assert high <= 10.5
    summary = explain(fleet, TODAY, POLICY).summary
    assert "expect it dead" in summary
    assert "charge it now" not in summary


def test_acid_used_up_with_nothing_drawing_on_it_leaves_the_volts_of_water():
    fleet = cars(stored_since=TODAY - 1500.0, drain_a=0.0, chemistry="flooded_antimony", place=valley(15.0))
    volts = rested_volts(fleet, battery_now(fleet, TODAY, POLICY), TODAY)[:, 0]
    assert (volts > 10.5).all()
    assert volts[1] < 11.89


@pytest.mark.parametrize(
    ("gravities", "charged_before", "word"),
    [
        ((1.265, 1.260, 1.262, 1.265, 1.258, 1.205), 2, "replace"),  # 0.060 apart after a charge
        ((1.265, 1.260, 1.262, 1.265, 1.258, 1.225), 2, "fine"),  # 0.040
        ((1.250, 1.245, 1.250, 1.110, 1.248, 1.250), 90, "replace"),  # one dead among live ones
        ((1.210, 1.205, 1.215, 1.150, 1.210, 1.208), 90, "charge"),  # apart, but read at half charge
    ],
)
def test_cells_too_far_apart_condemn_a_battery_once_it_is_charged(gravities, charged_before, word):
    fleet = cars(
        chemistry="low_antimony", charges=charged(TODAY - 1 - charged_before), readings=cells(*gravities)
    )
    assert verdict(fleet) == word
    assert (window(fleet, TODAY, POLICY).hold[0] == CONDEMNED) == (word == "replace")


@pytest.mark.parametrize(
    ("volts", "at_c", "word"), [(9.7, 21.0, "fine"), (9.5, 21.0, "replace"), (9.0, -7.0, "fine")]
)
def test_volts_under_load_are_judged_by_their_temperature(volts, at_c, word):
    fleet = under_load(cars(charges=charged(TODAY - 1)), volts, at_c)
    assert verdict(fleet) == word
    assert (window(fleet, TODAY, POLICY).hold[0] == WEAK) == (word == "replace")


@pytest.mark.parametrize(
    ("share", "at_c", "word"),
    [(85.0, 20.0, "fine"), (72.0, 20.0, "fine"), (65.0, 20.0, "replace"), (65.0, 0.0, "fine")],
)
def test_a_testers_cranking_amps_are_held_against_the_label_where_it_is_not_cold(share, at_c, word):
    assert verdict(under_load(cars(charges=charged(TODAY - 1)), share, at_c, "cranking_share")) == word


@pytest.mark.parametrize(("kind", "value"), [("load_volts", 8.0), ("cranking_share", 40.0)])
def test_a_test_of_an_uncharged_battery_says_nothing(kind, value):
    assert verdict(under_load(cars(readings=read((TODAY - 1, 12.25))), value, kind=kind)) == "charge"


def test_a_newer_test_that_is_passed_and_a_new_battery_clear_an_old_failure():
    failed = under_load(cars(charges=charged(TODAY - 9, TODAY - 1, row=0)), 8.5, day=TODAY - 8)
    assert verdict(failed) == "replace"
    assert verdict(under_load(failed, 9.8)) == "fine"
    assert verdict(replace(failed, battery_installed=np.array([TODAY - 7.0]))) == "fine"


def test_a_battery_that_failed_a_month_ago_is_still_condemned_when_it_has_run_down():
    assert verdict(under_load(cars(charges=charged(TODAY - 60)), 8.5, day=TODAY - 59)) == "replace"


def on_maintainer(since):
    return Charges(np.zeros(1, np.int64), np.array([since]), np.full(1, np.nan), np.ones(1, bool))


def test_a_low_reading_on_a_maintainer_is_a_failed_maintainer_at_once():
    fleet = cars(charges=on_maintainer(TODAY - 90), on_maintainer=True, last_attended=TODAY - 1)
    assert verdict(fleet) == "fine"
    failed = replace(fleet, readings=read((TODAY - 1, 12.1)))
    assert verdict(failed) == "maintain"
    assert window(failed, TODAY, POLICY).due[0] <= TODAY
    assert any(
        "maintainer, so that has failed" in text for text in explain(failed, TODAY, POLICY).assumptions
    )
    high = replace(fleet, readings=read((TODAY - 1, 12.7)))
    assert verdict(high) == "fine"


def test_a_maintainer_put_right_after_a_low_reading_counts_again():
    both = Charges(
        np.zeros(2, np.int64),
        np.array([TODAY - 90, TODAY - 3]),
        np.array([TODAY - 3, np.nan]),
        np.array([False, True]),
    )
    fleet = cars(charges=both, on_maintainer=True, readings=read((TODAY - 5, 12.1)))
    assert verdict(fleet) == "fine"


def test_lithium_is_not_charged_below_freezing_nor_when_cut_off_and_does_not_sulphate():
    cold, warm = (
        cars(chemistry="lifepo4", place=valley(by), charges=charged(TODAY - 400)) for by in (-10.0, 10.0)
    )
    assert "below freezing" in HOLDS[window(cold, TODAY, POLICY).hold[0]]
    assert window(warm, TODAY, POLICY).hold[0] == NOT_HELD
    empty = cars(chemistry="lifepo4", place=valley(10.0), readings=read((TODAY - 1, 0.0)))
    assert window(empty, TODAY, POLICY).hold[0] == CUT_OFF
    assert verdict(empty) == "inspect"
    flat = cars(chemistry="lifepo4", place=valley(10.0), readings=read((TODAY - 1, 12.2)))
    assert verdict(flat) == "charge"  # never recover: no sulphate to dissolve


def test_much_that_draws_on_it_asks_for_an_isolator():
    fleet = cars(drain_a=0.15, charges=charged(TODAY - 5))
    assert verdict(fleet) == "isolate"
    assert verdict(replace(fleet, isolated=np.array([True]))) == "fine"


def test_of_a_battery_of_which_nothing_is_known_nothing_is_said():
    nothing = cars(chemistry="unknown", capacity_ah=np.nan, battery_made=np.nan, drain_a=np.nan)
    assert verdict(nothing) == "unknown"
