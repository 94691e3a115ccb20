"""Each past day counts by the limits, climates and buildings of that day, as far as they were known then."""

from datetime import timedelta

import numpy as np
import pytest
import time_machine
from django.db import transaction
from hypothesis import HealthCheck, given
from hypothesis import settings as hypothesis
from hypothesis import strategies as st

from collection.care.actions.record import Edit
from collection.care.actions.settings import open_settings, settings_recorded
from collection.due.actions.thresholds import OwnValue, save_thresholds
from collection.history.core.exceeded import battery_below
from collection.history.core.past import past_of, unseen_days
from collection.history.queries.history import whole_log
from collection.life.core.gather import gather, gather_days
from collection.life.core.store import policies_on
from collection.loggers.actions.measured_air import accept_air
from collection.models import Battery, Bay, Building, LoggerDay, LoggerFile, LoggerState
from collection.places.actions.places import save_building, save_climate, save_site
from scheduler.duties.table import BY_NAME
from tests.barn import TODAY, make_climate
from tests.history.by_hand import count_by_hand
from tests.logbook import NOON, ago, write


@pytest.fixture(autouse=True)
def _today():
    with time_machine.travel(NOON, tick=False):
        yield


@pytest.fixture
def stored(car, bays, keeper):
    """A car in a shed for a year and a half; what is set there was written down before it came."""
    car.bay, car.stored_since = bays[0], ago(550)
    car.save()
    Battery.objects.create(vehicle=car, chemistry="calcium", capacity_ah=60, volts=12, installed_on=ago(900))
    write(car, keeper, "charge", 550, details={"completed": True})
    for days in (540, 400, 300, 130, 40):
        write(car, keeper, "inspected", days, details={"ok": True})
    for thing in (car.organisation, bays[0].building.site):
        open_settings(thing, Edit(keeper, NOON - timedelta(days=600)))
    return car


def limit(car, by, days_ago=0, **own):
    then = NOON - timedelta(days=days_ago)
    with time_machine.travel(then, tick=False):
        save_thresholds(
            organisation=car.organisation,
            own={name: OwnValue(value, "Ours.") for name, value in own.items()},
            by=by,
            today=ago(days_ago),
            now=then,
        )


def other_limits(car, edit):
    own = {"inspect_covered_days": 60.0, "recharge_soc": 0.6, "run_up_earliest_days": 40.0}
    limit(car, edit.by, (NOON - edit.now).days, **own)


def heated(car, edit):
    shed = Building.objects.get(pk=car.bay.building_id)
    shed.shelter, shed.heated_to_c = "heated", 24.0
    save_building(building=shed, edit=edit, today=TODAY)


def hotter(car, edit):
    climate = car.bay.building.site.climate
    months = list(climate.months.all())
    for month in months:
        month.mean_c, month.min_c, month.max_c = month.mean_c + 9, month.min_c + 9, month.max_c + 9
    save_climate(climate=climate, months=months, edit=edit, today=TODAY)


def another_climate(car, edit):
    site = car.bay.building.site
    warm = make_climate(car.organisation, f"Warm {edit.now}")
    warm.months.update(mean_c=25, min_c=20, max_c=30, humidity_pct=40)
    site.climate = warm
    save_site(site=site, edit=edit, today=TODAY)


def no_extraction(car, edit):
    bay = Bay.objects.get(pk=car.bay_id)
    with settings_recorded([bay.building.site], edit):
        bay.exhaust_extraction = False
        bay.save()


CHANGES = {each.__name__: each for each in (other_limits, heated, hotter, another_climate, no_extraction)}


def asked(car, days, *, by_now=False):
    """Every window of each day by the limits of that day."""
    fleet, windows = gather_days(car.pk, days, by_now=by_now).fleet, {}
    policies = policies_on(car.organisation_id, days, by_now=by_now)
    for code, duty in BY_NAME.items():
        each = [
            duty.window(fleet.take([row]), float(day.toordinal()), policies[row])
            for row, day in enumerate(days)
        ]
        windows[code] = np.array([(w.early[0], w.due[0], w.late[0], w.hold[0]) for w in each])
    return windows


def same(before, after):
    for code, windows in before.items():
        np.testing.assert_allclose(after[code], windows, atol=1e-6, err_msg=code)


def in_force(car):
    """Limits, air and extraction of today."""
    fleet = gather([car.pk], today=TODAY).fleet
    return policies_on(car.organisation_id, [TODAY]), fleet.places, list(fleet.extraction)


def past(car, until=1):
    return past_of(car, whole_log(car), first=ago(540), last=ago(until))


@pytest.mark.parametrize("name", CHANGES)
def test_what_is_set_otherwise_today_changes_no_day_before_today(stored, keeper, name):
    days = [ago(n) for n in range(500, 0, -45)]
    then, now = asked(stored, days), asked(stored, days, by_now=True)
    counted, below = past(stored), battery_below(stored, first=ago(540), last=ago(1))
    stood = in_force(stored)
    CHANGES[name](stored, Edit(keeper, NOON))
    assert in_force(stored) != stood
    same(then, asked(stored, days))
    same(now, asked(stored, days, by_now=True))
    assert past(stored) == counted
    changed = battery_below(stored, first=ago(540), last=ago(1))
    assert [line.likely_days for line in changed] == [line.likely_days for line in below]


@hypothesis(max_examples=10, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.lists(
        st.tuples(st.sampled_from(sorted(CHANGES)), st.integers(0, 400), st.integers(0, 30), st.booleans()),
        min_size=1,
        max_size=3,
    )
)
def test_what_is_set_later_or_dated_back_changes_nothing_that_was_asked_before_it_was_written(
    stored, keeper, changes
):
    with transaction.atomic():
        written = max(days for _, _, days, _ in changes) + 1
        days = [ago(n) for n in range(500, written, -60)]
        before = asked(stored, days)
        for name, since, days_ago, corrects in sorted(changes, key=lambda each: -each[2]):
            edit = Edit(keeper, NOON - timedelta(days=days_ago), since=ago(max(since, days_ago)))
            CHANGES[name](stored, edit if not corrects else Edit(keeper, edit.now, corrects=True))
        same(before, asked(stored, days))
        transaction.set_rollback(True)
    stored.refresh_from_db()


def test_each_day_is_counted_by_the_limits_in_force_on_it(stored, keeper):
    """Thirty days for the look until 200 days ago, then a hundred."""
    limit(stored, keeper, 200, inspect_covered_days=100.0)
    [line] = [each for each in past(stored).duties if each.duty == "inspection"]
    slow = count_by_hand(stored, "inspection", ago(330), ago(100))
    [part] = [
        each
        for each in past_of(stored, whole_log(stored), first=ago(330), last=ago(100)).duties
        if each.duty == "inspection"
    ]
    assert (part.asked, part.late, part.beyond_days) == (slow.asked, slow.late, slow.total_days)
    limit(stored, keeper, inspect_covered_days=1.0)
    assert [each for each in past(stored).duties if each.duty == "inspection"] == [line]
    assert unseen_days(stored, [ago(201), ago(200), ago(1), TODAY]) == [30, 100, 100, 1]


def test_a_limit_that_is_corrected_was_not_known_then_and_both_are_told(stored, keeper, manager):
    """The building was open to the weather all along: it was to be looked at every week."""
    before = {each.duty: each for each in past(stored).duties}["inspection"]
    shed = Building.objects.get(pk=stored.bay.building_id)
    shed.shelter = "open"
    save_building(building=shed, edit=Edit(keeper, NOON, corrects=True), today=TODAY)
    after = {each.duty: each for each in past(stored).duties}["inspection"]
    assert (after.asked, after.late, after.beyond_days) == (before.asked, before.late, before.beyond_days)
    assert after.beyond_by_now > before.beyond_by_now == before.beyond_days


def test_warmth_that_is_dated_back_is_known_of_the_past_and_was_not_known_then(stored, keeper):
    days = [ago(101), ago(99)]
    cold = gather_days(stored.pk, days).fleet.places
    heated(stored, Edit(keeper, NOON, since=ago(100)))
    assert gather_days(stored.pk, days).fleet.places == cold
    [through] = gather([stored.pk], today=TODAY).fleet.places
    warm_from = ago(100).toordinal() - through.first_day
    assert through.min_c[warm_from] >= 24 > through.max_c[warm_from - 1]
    early, late = (gather_days(stored.pk, [day], by_now=True).fleet.places[0] for day in days)
    assert early is cold[0]
    assert late.min_c[warm_from] >= 24
    assert late.min_c[warm_from - 1] == cold[0].min_c[warm_from - 1]


def test_what_a_logger_measured_is_known_of_its_days_and_was_not_known_before_it_was_accepted(stored, keeper):
    site, days = stored.bay.building.site, [ago(90), ago(20)]
    then = gather_days(stored.pk, days).fleet.places
    file = LoggerFile.objects.create(
        organisation=stored.organisation, building=stored.bay.building, name="shed.csv", digest="0" * 64,
        size=1, uploaded_at=NOON, state=LoggerState.READ, by=keeper,
    )  # fmt: skip
    hours = {"hour": list(range(24)), "covered": [1.0] * 24}
    hours |= {name: [[31.0] * 24, [40.0] * 24] for name in ("mean", "least", "most")}
    LoggerDay.objects.bulk_create(
        LoggerDay(file=file, day=ago(back), hours=hours) for back in range(120, 29, -1)
    )
    accept_air(file=file, edit=Edit(keeper, NOON), today=TODAY)
    assert gather_days(stored.pk, days).fleet.places == then
    [now] = gather_days(stored.pk, [ago(1)], by_now=True).fleet.places
    assert now.mean_c[ago(90).toordinal() - now.first_day] == pytest.approx(31)
    assert now.mean_c[ago(20).toordinal() - now.first_day] < 20
    known = gather_days(stored.pk, [TODAY]).fleet.places[0]
    assert known.mean_c[ago(90).toordinal() - known.first_day] == pytest.approx(31)
    assert site.buildings.count() == 1


def test_extraction_is_that_of_the_day(stored, keeper):
    no_extraction(stored, Edit(keeper, NOON - timedelta(days=50)))
    fleet = gather_days(stored.pk, [ago(51), ago(50), TODAY]).fleet
    assert list(fleet.extraction) == [True, False, False]
