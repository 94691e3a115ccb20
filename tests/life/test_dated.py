"""What the record is told with a day changes nothing before that day, and from then on everything."""

from datetime import timedelta

import numpy as np
import pytest
import time_machine
from django.db import transaction
from hypothesis import HealthCheck, given
from hypothesis import settings as hypothesis
from hypothesis import strategies as st

from collection.care.actions.record import Edit, open_records, recorded
from collection.care.queries.record import recorded_values
from collection.chain.replay import replay
from collection.history.core.past import past_of
from collection.history.queries.history import whole_log
from collection.life.core.gather import gather, gather_days
from collection.life.core.store import policy_of
from collection.models import Battery, Vehicle
from collection.proof.queries import history_facts
from scheduler.duties.conditions import REGIMES
from scheduler.duties.table import BY_NAME
from tests.barn import TODAY
from tests.logbook import NOON, ago, write


@pytest.fixture(autouse=True)
def _today():
    with time_machine.travel(NOON, tick=False):
        yield


@pytest.fixture
def stored(car, yard, keeper):
    """A car in the yard for a year and a half, its battery on a maintainer, its record written down then."""
    car.bay, car.stored_since = yard, ago(550)
    car.save()
    Battery.objects.create(
        vehicle=car,
        chemistry="calcium",
        capacity_ah=60,
        volts=12,
        installed_on=ago(900),
        maintainer_since=ago(400),
    )
    write(car, keeper, "charge", 550, details={"completed": True})
    write(car, keeper, "inspected", 300, details={"ok": True})
    open_records([car], Edit(keeper, NOON - timedelta(days=500)))
    return Vehicle.objects.get(pk=car.pk)


def change(car, by, since=None, days_ago=0, **values):
    """Save the record; a maintainer is that of the battery."""
    battery = car.batteries.get()
    with recorded(car, Edit(by, NOON - timedelta(days=days_ago), since=since)):
        for name, value in values.items():
            setattr(battery if name in ("maintainer_since", "isolated") else car, name, value)
        car.save()
        battery.save()


def asked(car, days, *, by_now=False):
    fleet = gather_days(car.pk, days, by_now=by_now).fleet
    each, policy = np.array([day.toordinal() for day in days], float), policy_of(car.organisation_id)
    windows = {code: duty.window(fleet, each, policy) for code, duty in BY_NAME.items()}
    return {code: np.array([w.early, w.due, w.late, w.hold]) for code, w in windows.items()}


def past(car):
    return past_of(car, whole_log(car), first=ago(540), last=ago(1))


EDITS = {
    "on stands": {"on_stands": True},
    "laid up": {"regime": "preserved"},
    "maintainer off": {"maintainer_since": None},
    "out of every bay": {"bay": None},
}


@pytest.mark.parametrize("name", EDITS)
def test_an_edit_of_today_changes_no_state_and_no_count_before_today(stored, keeper, name):
    days = [ago(n) for n in range(500, 0, -20)]
    known, now, counted = asked(stored, days), asked(stored, days, by_now=True), past(stored)
    change(stored, keeper, **EDITS[name])
    for before, after in ((known, asked(stored, days)), (now, asked(stored, days, by_now=True))):
        for code, windows in before.items():
            np.testing.assert_allclose(after[code], windows, atol=1e-6, err_msg=code)
    assert past(stored) == counted


@hypothesis(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.lists(
        st.tuples(st.sampled_from(sorted(EDITS)), st.integers(0, 400), st.integers(0, 30)),
        min_size=1,
        max_size=3,
    )
)
def test_whatever_is_told_later_changes_nothing_that_was_asked_for_before_it_was_told(stored, keeper, told):
    with transaction.atomic():
        first = max(days for _, _, days in told) + 1
        days = [ago(n) for n in range(500, first, -25)]
        before = asked(stored, days)
        for name, since, days_ago in sorted(told, key=lambda each: -each[2]):
            change(stored, keeper, since=ago(max(since, days_ago)), days_ago=days_ago, **EDITS[name])
        for code, windows in asked(stored, days).items():
            np.testing.assert_allclose(windows, before[code], atol=1e-6, err_msg=code)
        assert replay(history_facts(stored, now=NOON)["entries"]) == recorded_values([stored.pk])[stored.pk]
        transaction.set_rollback(True)
    stored.refresh_from_db()


def test_stands_and_regime_are_those_of_each_day(stored, keeper):
    change(stored, keeper, since=ago(100), on_stands=True, regime="preserved")
    by_now = gather_days(stored.pk, [ago(101), ago(100), ago(1)], by_now=True).fleet
    assert list(by_now.on_stands) == [False, True, True]
    assert [REGIMES[code] for code in by_now.regime] == ["exercised", "preserved", "preserved"]
    known = gather_days(stored.pk, [ago(100), ago(1), TODAY]).fleet
    assert list(known.on_stands) == [False, False, True]


def test_a_bay_of_the_record_gives_its_air_from_its_day_on(stored, keeper, yard, bays):
    yard_only = gather([stored.pk], today=TODAY).fleet.places[0]
    change(stored, keeper, since=ago(100), bay=bays[2])
    [now] = gather([stored.pk], today=TODAY).fleet.places
    [before] = gather_days(stored.pk, [ago(200)]).fleet.places
    assert before is yard_only
    assert [part.place is yard_only for part in now.parts] == [True, False]
    assert now.parts[1].first == ago(100).toordinal()


def test_a_maintainer_that_came_off_was_on_until_then(stored, keeper):
    change(stored, keeper, since=ago(30), maintainer_since=None)
    fleet = gather([stored.pk], today=TODAY).fleet
    spells = {(day, until) for day, until in zip(fleet.charges.day, fleet.charges.until, strict=True)}
    assert (float(ago(400).toordinal()), float(ago(30).toordinal())) in spells
    assert not fleet.on_maintainer[0]
    assert gather_days(stored.pk, [ago(31)], by_now=True).fleet.on_maintainer[0]


def test_storage_begun_anew_leaves_the_stretch_before(stored, keeper):
    change(stored, keeper, stored_since=ago(50))
    fleet = gather_days(stored.pk, [ago(300), ago(10)], by_now=True).fleet
    assert list(fleet.stored_since) == [float(ago(550).toordinal()), float(ago(50).toordinal())]


def unknown_days(car, duty):
    return next(each.unknown_days for each in past(car).duties if each.duty == duty)


def test_only_stands_that_nobody_dated_leave_unknown_what_stood_on_the_tyres(stored, keeper):
    change(stored, keeper, since=ago(100), on_stands=True)
    assert unknown_days(stored, "tyre_move") == unknown_days(stored, "inspection")
    Vehicle.objects.filter(pk=stored.pk).update(on_stands=True)
    open_records([stored], Edit(keeper, NOON))  # now it is said without a day
    assert unknown_days(stored, "tyre_move") == unknown_days(stored, "inspection")


def test_stands_of_the_first_entry_are_of_nobody_knows_when(car, keeper):
    car.on_stands, car.stored_since = True, ago(550)
    car.save()
    write(car, keeper, "inspected", 540, details={"ok": True})
    open_records([car], Edit(keeper, NOON))
    assert unknown_days(car, "tyre_move") > unknown_days(car, "inspection") + 500
