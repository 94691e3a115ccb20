"""When to run an engine up, when not to, and what a run must reach."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.duties.conditions import FLUIDS, REGIMES, TAGS
from scheduler.duties.engine import run_up
from scheduler.duties.policy import Policy
from scheduler.duties.windows import NOT_HELD
from scheduler.physics.engine import run_up as warming
from scheduler.physics.fluids.fluids import POSITION
from scheduler.physics.fuel import dose as fuel_dose
from scheduler.vocabulary.errors import BadInput
from tests.scheduler.fuel_cars import TODAY, car, steady, together, valley

POLICY = Policy()
NAN = np.nan
IDLE, DRIVE = fuel_dose.IDLE_ML_PER_MIN.value, fuel_dose.DRIVE_ML_PER_MIN.value
FRESH = ((5.0, "filled", 50.0, 0.05),)
DRY, DAMP = steady(12.0, rh_pct=45.0, shelter="heated"), steady(8.0, rh_pct=90.0)


def ready(place=DAMP, warm_days_ago=10.0, **columns):
    columns = {"fuel_events": FRESH, "last_full_warm": np.array([TODAY - warm_days_ago])} | columns
    return car(place, **columns)


def window(fleet):
    return run_up.window(fleet, TODAY, POLICY)


def reason(fleet):
    hold = window(fleet).hold[0]
    return None if hold == NOT_HELD else run_up.HOLDS[hold]


def tagged(name):
    return np.array([[tag == name for tag in TAGS]])


# ---- the physics of a run


def test_a_drive_dries_oil_in_the_published_quarter_of_an_hour_and_half_an_hour_in_frost():
    assert 15 <= warming.warm_up_minutes(20.0, DRIVE) <= 20
    assert 25 <= warming.warm_up_minutes(-15.0, DRIVE) <= 31


def test_idling_in_the_cold_never_dries_oil():
    assert np.isinf(warming.warm_up_minutes(np.array([-10.0, 0.0, 10.0]), IDLE)).all()
    assert warming.steady_oil_c(0.0, IDLE) < warming.DRYING_OIL_C.value


@settings(max_examples=60)
@given(st.floats(-30.0, 35.0), st.floats(0.0, 20.0), st.floats(20.0, 200.0), st.floats(0.0, 100.0))
def test_a_colder_start_or_a_lighter_load_never_warms_sooner(start_c, colder_k, flow, more):
    warm, cold = warming.warm_up_minutes(np.array([start_c, start_c - colder_k]), flow)
    heavy = warming.warm_up_minutes(start_c, flow + more)
    assert heavy <= warm <= cold


def test_oil_that_is_hot_needs_no_warming():
    assert warming.warm_up_minutes(20.0, DRIVE, target_c=15.0) == 0.0


def test_water_grows_with_what_is_burnt():
    assert warming.combustion_water_g(np.array([0.0, 100.0, 200.0]), 0.895) == pytest.approx([0, 89.5, 179])


@pytest.mark.parametrize(
    ("call", "argument"),
    [
        (lambda: warming.warm_up_minutes(np.nan, DRIVE), "start_c"),
        (lambda: warming.warm_up_minutes(-300.0, DRIVE), "start_c"),
        (lambda: warming.warm_up_minutes(10.0, 0.0), "fuel_ml_per_min"),
        (lambda: warming.combustion_water_g(-1.0, 0.9), "fuel_ml"),
    ],
)
def test_bad_input_names_its_argument(call, argument):
    with pytest.raises(BadInput, match=argument):
        call()


# ---- the dates


def test_a_damp_place_is_due_after_the_armys_thirty_days():
    due = window(ready(DAMP))
    assert due.due[0] == TODAY - 10 + 30
    assert run_up.LIMITS[due.limit[0]] == "custom for the dampest places"


def test_a_dry_heated_place_is_due_later_than_a_damp_cold_one_but_within_twelve_weeks():
    dry, damp = window(ready(DRY)), window(ready(DAMP))
    assert dry.due[0] == TODAY - 10 + 84
    assert dry.due[0] > damp.due[0]
    assert dry.late[0] == TODAY - 10 + 168


def test_between_dry_and_damp_the_wet_hours_decide():
    partly = steady(10.0, rh_pct=72.0, swing_k=12.0)
    due = window(ready(partly))
    assert run_up.LIMITS[due.limit[0]] == "damp air since the last warm run"
    assert TODAY - 10 + 30 < due.due[0] < TODAY - 10 + 84


def test_frost_is_not_damp():
    frozen = steady(-10.0, rh_pct=95.0)
    assert window(ready(frozen)).due[0] == TODAY - 10 + 84


def test_early_due_and_late_come_in_order_and_a_later_run_is_never_due_sooner():
    for place in (DRY, DAMP, valley()):
        before, after = window(ready(place, 40.0)), window(ready(place, 5.0))
        for each in (before, after):
            assert each.early[0] < each.due[0] < each.late[0]
        assert after.due[0] >= before.due[0]


def test_a_car_never_run_warm_on_record_gets_an_assumed_date():
    silent = ready(last_full_warm=np.array([NAN]))
    due = window(silent)
    assert due.assumed[0]
    assert not np.isnan(due.due[0])
    since_storage = window(replace(silent, stored_since=np.array([TODAY - 200.0])))
    assert since_storage.due[0] == TODAY - 200 + 30


# ---- when not to run


def test_a_ready_exercised_car_is_not_held():
    assert reason(ready()) is None


@pytest.mark.parametrize("tag", TAGS)
def test_each_open_tag_forbids_running_in_its_own_words(tag):
    words = {
        "drained": "a fluid is drained",
        "drain_open": "a drain is open",
        "part_out": "a part is out",
        "intake_blocked": "intake or exhaust is blocked",
        "engine_preserved": "the engine is preserved",
        "danger": "a danger tag is open",
    }
    assert reason(ready(tags=tagged(tag))).startswith(words[tag])


@pytest.mark.parametrize(
    ("columns", "words"),
    [
        ({"regime": np.array([REGIMES.index("preserved")])}, "a car that is laid up is not run"),
        ({"regime": np.array([REGIMES.index("dormant")])}, "recommission it in stages first"),
        ({"regime": np.array([-1]), "last_full_warm": np.array([NAN])}, "recommission it in stages first"),
        ({"last_full_warm": np.array([TODAY - 500.0])}, "not run for too long"),
    ],
)
def test_running_is_held_where_it_would_do_harm(columns, words):
    assert words in reason(ready(**columns))


def test_stale_fuel_and_separated_fuel_forbid_running():
    old = car(steady(20.0), fuel_events=((250.0, "filled", 50.0, 0.05),))
    assert reason(old) == "the fuel is stale: change it first"
    damp = steady(10.0, rh_pct=95.0, swing_k=16.0)
    history = ((1400.0, "filled", 8.0, 0.10), (40.0, "added", 30.0, 0.0))
    trapped = car(damp, fuel="petrol_e10", venting="open", system="carburettor", fuel_events=history)
    assert reason(trapped) == "water has dropped out of the fuel: drain it first"


def test_where_the_exhaust_cannot_be_led_out_the_car_is_driven_out_not_held():
    inside, led_out = ready(extraction=np.array([False])), ready()
    open_air = ready(steady(8.0, rh_pct=90.0, shelter="open"), extraction=np.array([False]))
    assert [reason(fleet) for fleet in (inside, led_out, open_air)] == [None] * 3
    texts = [run_up.explain(fleet, TODAY, POLICY).summary for fleet in (inside, led_out, open_air)]
    assert ["drive it out at once" in text for text in texts] == [True, False, False]


@pytest.mark.parametrize(
    ("mixture", "share", "held"), [("water_inhibited", np.nan, True), ("eg_organic", 0.5, False)]
)
def test_plain_water_in_the_cooling_system_holds_the_engine_in_frost_and_glycol_does_not(
    mixture, share, held
):
    kinds = np.full((1, len(FLUIDS)), -1)
    kinds[:, FLUIDS.index("coolant")] = POSITION[mixture]
    columns = {"fluid_type": kinds, "coolant_share": np.array([share])}
    frosty, mild = ready(steady(-4.0), **columns), ready(steady(14.0), **columns)
    assert (reason(frosty) or "").startswith("a cold night may have frozen the cooling system") == held
    assert reason(mild) is None


def test_a_held_run_keeps_its_dates():
    free, held = window(ready()), window(ready(tags=tagged("danger")))
    assert held.due[0] == free.due[0]


CARS = st.tuples(
    st.sampled_from([DRY, DAMP, valley("open"), valley()]),
    st.floats(0.0, 400.0),
    st.sampled_from([-1, 0, 1, 2]),
    st.booleans(),
    st.sampled_from((*TAGS, "none")),
)


@settings(max_examples=25, deadline=None)
@given(st.lists(CARS, min_size=2, max_size=5))
def test_a_fleets_windows_are_each_cars_own(given_cars):
    cars = [
        ready(place, ago, regime=np.array([regime]), extraction=np.array([fan]), tags=tagged(tag))
        for place, ago, regime, fan, tag in given_cars
    ]
    whole = window(together(*cars))
    for row, one in enumerate(cars):
        alone = window(one)
        for name in ("early", "due", "late", "limit", "hold", "assumed"):
            assert getattr(whole, name)[row] == pytest.approx(getattr(alone, name)[0], abs=1e-6), name


# ---- what is said


def test_the_reason_shows_minutes_load_water_and_the_warning():
    reason = run_up.explain(ready(valley("heated")), TODAY, POLICY)
    steps = {step.label: step.worked for step in reason.steps}
    assert "min driving at 60 km/h; idling levels out near" in steps["minutes to drying temperature"]
    assert "= 91 g" in steps["water from a short idle"]
    assert "never a permission" in steps["never idle indoors"]
    assert "does not count" in reason.summary
    assert {source.standing for source in reason.sources} >= {
        "published",
        "policy",
        "from memory, unverified",
    }


def test_the_reason_of_a_held_run_says_why_not():
    reason = run_up.explain(ready(tags=tagged("intake_blocked")), TODAY, POLICY)
    assert reason.summary.startswith("Not to be run up now: intake or exhaust is blocked")


def test_the_band_counts_wet_hours_from_the_last_warm_run_to_those_allowed():
    band = run_up.band(ready(DAMP), TODAY + np.array([-20.0, -10.0, -9.0, 0.0]), POLICY)
    assert np.isnan(band.likely[0])
    assert band.likely[1:] == pytest.approx([0.0, 24.0, 240.0])
    assert (band.low[1:] <= band.likely[1:]).all()
    assert (band.likely[1:] <= band.high[1:]).all()
    assert band.levels[0].value == POLICY.run_up_wet_hours


def test_the_reason_names_what_is_assumed():
    silent = ready(last_full_warm=np.array([NAN]), regime=np.array([-1]))
    reason = run_up.explain(silent, TODAY, POLICY)
    assert any("No fully warm run is recorded" in words for words in reason.assumptions)
    assert any("regime is not recorded" in words for words in reason.assumptions)
