"""What keepers decide of a duty has the last word, for a fleet as for one car, on any day."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from scheduler.duties.conditions import FLUIDS, Rules
from scheduler.duties.known import unknown
from scheduler.duties.own_rules import NOT_BEFORE, NOT_FOR, OWN_INTERVAL, PUT_OFF
from scheduler.duties.policy import Policy
from scheduler.duties.table import BY_NAME, forecast
from scheduler.vocabulary.duties import DUTIES
from scheduler.vocabulary.errors import BadInput
from scheduler.vocabulary.intervals import interval_days, read_interval, write_interval
from tests.scheduler.barn import a_place
from tests.scheduler.blank import blank

TODAY = float(date(2026, 11, 25).toordinal())
CODES = [duty.code for duty in DUTIES]
POLICY = Policy()


def rules(*some):
    """Rules of (row, duty code, interval, not before, put off until, not for)."""
    row, duty, interval, not_before, put_off, not_for = zip(*some, strict=True)
    floats = [np.array(column, float) for column in (interval, not_before, put_off)]
    return Rules(np.array(row), np.array([CODES.index(code) for code in duty]), *floats, np.array(not_for))


def fleet(n=3):
    """Cars of which everything was done on some day, and which stand on their wheels."""
    day = np.full(n, TODAY - 50)
    last = dict.fromkeys(("last_full_warm", "last_moved", "last_attended", "last_inspected"), day)
    changed = np.tile(day[:, None], len(FLUIDS))
    return replace(blank(n, a_place()), stored_since=day - 300, fluid_changed=changed, **last)


@pytest.mark.parametrize("code", CODES)
def test_a_car_without_a_rule_keeps_its_dates_beside_one_that_has(code):
    plain, ruled = fleet(), replace(fleet(), rules=rules((1, code, 200.0, np.nan, np.nan, False)))
    before, after = (forecast(each, TODAY, POLICY) for each in (plain, ruled))
    for name in CODES:
        for column in ("early", "due", "late", "hold"):
            same = [0, 2] if name == code else [0, 1, 2]
            old, new = getattr(before[name], column)[same], getattr(after[name], column)[same]
            assert np.array_equal(old, new, equal_nan=True), (name, column)


@pytest.mark.parametrize("code", CODES)
def test_an_own_interval_counts_from_the_last_time_it_was_done_with_the_tolerance_of_a_calendar_date(code):
    one = replace(fleet(1), rules=rules((0, code, 200.0, np.nan, np.nan, False)))
    window = BY_NAME[code].window(one, TODAY, POLICY)
    never = code in ("charge", "stabiliser", "fuel_change", "tyre_pressure")  # of these nothing is logged
    start = TODAY - 350 if never else TODAY - 50
    assert (window.early[0], window.due[0], window.late[0]) == pytest.approx(
        (start + 180, start + 200, start + 220)
    )
    assert window.limits[window.limit[0]] == OWN_INTERVAL
    assert window.assumed[0] == never
    assert BY_NAME[code].explain(one, TODAY, POLICY).summary.startswith("By its own interval of 200 days.")


@pytest.mark.parametrize("code", CODES)
def test_not_for_this_car_has_no_dates_and_no_hold(code):
    one = replace(fleet(1), rules=rules((0, code, np.nan, np.nan, np.nan, True)))
    window = BY_NAME[code].window(one, TODAY, POLICY)
    assert np.isnan([window.early[0], window.due[0], window.late[0]]).all()
    assert window.limits[window.limit[0]] == NOT_FOR
    assert window.hold[0] == -1
    assert not unknown(one, forecast(one, TODAY, POLICY))[code][0]
    assert BY_NAME[code].explain(one, TODAY, POLICY).summary.startswith("Not for this car")


@pytest.mark.parametrize("code", CODES)
def test_no_date_is_before_the_day_that_was_set_and_a_later_one_stays(code):
    plain = BY_NAME[code].window(fleet(1), TODAY, POLICY)
    for first in (TODAY + 5000, TODAY - 5000):
        one = replace(fleet(1), rules=rules((0, code, np.nan, first, np.nan, False)))
        window = BY_NAME[code].window(one, TODAY, POLICY)
        for column in ("early", "due", "late"):
            old, new = getattr(plain, column)[0], getattr(window, column)[0]
            assert np.isnan(new) if np.isnan(old) else new == max(old, first)
        assert not window.due[0] < first
        if window.due[0] > plain.due[0]:
            assert window.limits[window.limit[0]] == NOT_BEFORE
            assert not unknown(one, forecast(one, TODAY, POLICY))[code][0]


@pytest.mark.parametrize("code", CODES)
def test_put_off_holds_until_its_day_and_leaves_the_dates(code):
    one = replace(fleet(1), rules=rules((0, code, np.nan, np.nan, TODAY + 10, False)))
    plain = BY_NAME[code].window(fleet(1), TODAY, POLICY)
    waiting, then = (BY_NAME[code].window(one, day, POLICY) for day in (TODAY, TODAY + 10))
    assert np.array_equal(waiting.due, plain.due, equal_nan=True)
    own = plain.holds[plain.hold[0]] if plain.hold[0] >= 0 else PUT_OFF  # what held it already still does
    assert waiting.holds[waiting.hold[0]] == own
    assert then.hold[0] == BY_NAME[code].window(fleet(1), TODAY + 10, POLICY).hold[0]


def test_each_day_of_a_past_counts_by_its_own_rows_rules():
    ruled = replace(fleet(1), rules=rules((0, "coolant", 100.0, np.nan, np.nan, False)))
    both = ruled.repeated([0, 0, 0])
    days = np.array([TODAY - 20, TODAY, TODAY + 20])
    window = BY_NAME["coolant"].window(both, days, POLICY)
    assert np.array_equal(window.due, np.full(3, TODAY + 50))
    assert len(ruled.take([0]).rules.row) == 1


def test_nothing_to_count_from_leaves_the_models_dates():
    silent = replace(blank(1, a_place()), rules=rules((0, "brake_fluid", 100.0, np.nan, np.nan, False)))
    plain = BY_NAME["brake_fluid"].window(blank(1, a_place()), TODAY, POLICY)
    window = BY_NAME["brake_fluid"].window(silent, TODAY, POLICY)
    assert np.array_equal(window.due, plain.due, equal_nan=True)
    assert window.limits[window.limit[0]] == plain.limits[plain.limit[0]]
    assert "no day to count from" in BY_NAME["brake_fluid"].explain(silent, TODAY, POLICY).summary


def test_an_interval_is_read_as_it_is_written():
    for number, unit in ((1, "day"), (24, "month"), (30, "year")):
        assert read_interval(write_interval(number, unit)) == (number, unit)
    assert interval_days("12 months") == pytest.approx(interval_days("1 year"))


@pytest.mark.parametrize(
    "text", ["", "24", "0 days", "-1 day", "24 fortnights", "31 years", "1 day\n", "٣ days"]
)
def test_what_is_no_interval_is_refused(text):
    with pytest.raises(BadInput, match="interval"):
        interval_days(text)
