"""What the record is told with a day changes nothing before that day, and from then on everything."""

from datetime import UTC, timedelta

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
from collection.life.core.dated import Record
from collection.life.core.gather import gather, gather_days
from collection.life.core.parts import parts_on
from collection.life.core.store import policy_of
from collection.life.record_entries import as_written
from collection.models import Battery, Fuel, Vehicle
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
    Fuel.objects.create(
        vehicle=car, grade="petrol_e5", bio_pct=5, litres=40, filled_on=ago(560), as_of=ago(550)
    )
    car.tyres.create(position="front_left", date_code="2319", placard_kpa=220)
    car.fluids.create(kind="coolant", type="eg_inorganic", changed_on=ago(800), glycol_pct=40)
    write(car, keeper, "charge", 550, details={"completed": True})
    write(car, keeper, "inspected", 300, details={"ok": True})
    open_records([car], Edit(keeper, NOON - timedelta(days=500)))
    return Vehicle.objects.get(pk=car.pk)


def change(car, by, since=None, days_ago=0, **values):
    """Save the record; a maintainer is that of the battery."""
    rows = {"car": car, "battery": car.batteries.get(), "fuel": car.fuel}
    rows |= {"tyre": car.tyres.get(), "coolant": car.fluids.get(kind="coolant")}
    with recorded(car, Edit(by, NOON - timedelta(days=days_ago), since=since)):
        for name, value in values.items():
            part, _, column = name.rpartition("__")
            setattr(rows[part or "car"], column, value)
        for row in rows.values():
            row.save()


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
    "maintainer off": {"battery__maintainer_since": None},
    "isolated": {"battery__isolated": True},
    "drain measured": {"battery__drain_ma": 90.0},
    "another battery written down": {"battery__chemistry": "agm", "battery__capacity_ah": 95.0},
    "other fuel": {
        "fuel__grade": "petrol_e10",
        "fuel__bio_pct": 10.0,
        "fuel__litres": 9.0,
        "fuel__as_of": ago(0),
    },
    "filled of late": {"fuel__filled_on": ago(3), "fuel__as_of": ago(0)},
    "old tyres": {"tyre__date_code": "0105", "tyre__placard_kpa": 310.0},
    "coolant changed": {
        "coolant__changed_on": ago(0),
        "coolant__type": "eg_organic",
        "coolant__glycol_pct": 50.0,
    },
    "another tank": {"tank_litres": 20.0},
    "out of every bay": {"bay": None},
}


# What was so from the first, though it is learned today: known of the past, and not known then
LEARNED = {
    "made long ago": {"battery__made_on": ago(1500)},
    "weighed": {"battery__full_sg": 1.265},
    "vented tank": {"tank_venting": "open"},
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
        st.tuples(st.sampled_from(sorted(EDITS | LEARNED)), st.integers(0, 400), st.integers(0, 30)),
        min_size=1,
        max_size=3,
    )
)
def test_whatever_is_told_later_changes_nothing_that_was_asked_for_before_it_was_told(
    stored, keeper, changes
):
    with transaction.atomic():
        first = max(days for _, _, days in changes) + 1
        days = [ago(n) for n in range(500, first, -25)]
        before = asked(stored, days)
        for name, since, days_ago in sorted(changes, key=lambda each: -each[2]):
            change(
                stored, keeper, since=ago(max(since, days_ago)), days_ago=days_ago, **(EDITS | LEARNED)[name]
            )
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


DATED_BACK = {"other fuel": {"fuel__as_of": ago(100)}}  # fuel says itself when it was found so
CHANGES = {"isolated": "isolated", "other fuel": "fuel", "old tyres": "tyre_made"}


@pytest.mark.parametrize("name", CHANGES)
def test_an_edit_dated_back_is_known_of_the_past_from_its_day_and_was_not_known_then(stored, keeper, name):
    """What it did to the car follows all that is known today; what was asked for, what was known then."""
    change(stored, keeper, since=ago(100), **EDITS[name] | DATED_BACK.get(name, {}))
    days = [ago(101), ago(99), ago(1), TODAY]
    now, then = (gather_days(stored.pk, days, by_now=by_now).fleet for by_now in (True, False))
    for column in CHANGES.values():
        before, *later = getattr(now, column)
        assert len(set(later)) == 1
        assert list(getattr(then, column)) == [before, before, before, later[-1]], column
        assert (later[0] != before) == (column == CHANGES[name])


def test_what_is_learned_of_a_battery_is_known_of_all_its_days_and_was_not_known_then(stored, keeper):
    change(stored, keeper, **LEARNED["made long ago"])
    made = float(ago(1500).toordinal())
    assert list(gather_days(stored.pk, [ago(300), TODAY], by_now=True).fleet.battery_made) == [made, made]
    known = gather_days(stored.pk, [ago(300), TODAY]).fleet.battery_made
    assert np.isnan(known[0])
    assert known[1] == made


def test_a_battery_that_was_taken_out_is_in_the_car_until_then(stored, keeper):
    with recorded(stored, Edit(keeper, NOON)):
        stored.batteries.update(removed_on=ago(60))
        stored.batteries.create(chemistry="agm", capacity_ah=95, installed_on=ago(60))
    fleet = gather_days(stored.pk, [ago(61), ago(60), TODAY], by_now=True).fleet
    assert list(fleet.capacity_ah) == [60, 95, 95]
    assert list(gather_days(stored.pk, [ago(61), ago(1), TODAY]).fleet.capacity_ah) == [60, 60, 95]


def test_a_part_that_another_keeper_wrote_in_no_form_of_ours_is_not_known(stored):
    entry = stored.record_entries.get()
    tables = {"battery.9.capacity_ah": "many", "fluid.soup.type": "hot", "tyre.front_left.date_code": 7}
    facts = {name: {"was": None, "now": value, "since": "2026-01-01"} for name, value in tables.items()}
    facts |= {"fuel.litres": {"was": None, "now": -4, "since": None}, "last.road_use.sold_by": facts_of(1)}
    record = Record(
        [as_written(entry), as_written(entry) | {"id": "x", "details": facts}],
        frozenset(),
        UTC,
        is_whole=False,
    )
    parts = parts_on(stored, record, ago(1))
    assert (parts.battery.capacity_ah, parts.fluids[0].kind, parts.last) == (60, "coolant", {})
    assert parts.fuel.litres is None


def facts_of(value):
    return {"was": None, "now": value, "since": None}


def test_a_maintainer_that_came_off_was_on_until_then(stored, keeper):
    change(stored, keeper, since=ago(30), battery__maintainer_since=None)
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


def test_many_days_in_one_go_are_what_each_day_gives_alone(stored, keeper):
    change(stored, keeper, since=ago(100), on_stands=True, battery__isolated=True)
    change(stored, keeper, since=ago(20), tyre__date_code="0105")
    days = [ago(n) for n in (500, 450, 101, 100, 99, 21, 20, 1, 0)]
    for by_now in (False, True):
        whole = asked(stored, days, by_now=by_now)
        for at, day in enumerate(days):
            for code, windows in asked(stored, [day], by_now=by_now).items():
                np.testing.assert_allclose(whole[code][:3, at], windows[:3, 0], atol=1e-6, err_msg=code)


def test_a_fleet_is_what_each_car_gives_alone(stored, neighbour_car, keeper):
    change(stored, keeper, since=ago(100), tank_litres=20.0, battery__isolated=True)
    day = ago(50)
    both = gather([stored.pk, neighbour_car.pk], today=day)
    policy = policy_of(stored.organisation_id)
    for row, pk in enumerate(both.pks):
        alone = gather([pk], today=day).fleet
        for code, duty in BY_NAME.items():
            one = duty.window(alone, float(day.toordinal()), policy)
            fleet = duty.window(both.fleet, float(day.toordinal()), policy)
            np.testing.assert_allclose(fleet.due[row], one.due[0], atol=1e-6, err_msg=code)
