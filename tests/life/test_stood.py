"""The past is judged by the place of its own day: a move changes nothing before it."""

from datetime import timedelta

import numpy as np
import pytest
import time_machine

from collection.history.core.exceeded import battery_below
from collection.life.core.gather import gather, gather_days
from collection.life.core.store import policy_of
from collection.models import Battery, Building
from scheduler.duties.table import BY_NAME
from scheduler.physics.climate import Part, Stays, coldest, courses, daily, span
from tests.barn import TODAY
from tests.logbook import NOON, ago, write
from tests.scheduler.barn import DAYS, FIRST_DAY, a_place


@pytest.fixture(autouse=True)
def _today():
    with time_machine.travel(NOON, tick=False):
        yield


@pytest.fixture
def stored(car, yard, keeper):
    """A car in the yard for a year and a half, its battery charged once."""
    car.bay, car.stored_since = yard, ago(550)
    car.save()
    Battery.objects.create(vehicle=car, chemistry="calcium", capacity_ah=60, volts=12, installed_on=ago(900))
    write(car, keeper, "charge", 550, details={"completed": True})
    write(car, keeper, "inspected", 300, details={"ok": True})
    return car


def move(car, by, days_ago, start, end):
    bays = {"from_bay": start.pk, "from_bay_label": str(start), "to_bay": end.pk, "to_bay_label": str(end)}
    write(car, by, "moved", days_ago, details={"wheels_only": False} | bays)
    car.bay = end
    car.save()


def asked(car, days):
    fleet = gather_days(car.pk, days).fleet
    each, policy = np.array([day.toordinal() for day in days], float), policy_of(car.organisation_id)
    windows = {code: duty.window(fleet, each, policy) for code, duty in BY_NAME.items()}
    return {code: np.array([w.early, w.due, w.late, w.hold]) for code, w in windows.items()}


def test_a_move_of_today_changes_nothing_that_was_asked_for_before_today(stored, keeper, yard, bays):
    days = [ago(n) for n in range(500, 0, -20)]
    before = asked(stored, days)
    move(stored, keeper, 0, yard, bays[2])
    after = asked(stored, days)
    for code, windows in before.items():
        np.testing.assert_allclose(after[code], windows, atol=1e-6, err_msg=code)


def test_a_move_indoors_does_not_undo_the_days_in_the_yard(stored, keeper, yard, bays):
    heated = Building.objects.create(
        site=yard.building.site, name="Hall", shelter="heated", heated_to_c=24
    ).bays.create(row="H", place=1)
    days = {"first": ago(549), "last": ago(1)}
    before = [(line.likely_days, line.least_days, line.most_days) for line in battery_below(stored, **days)]
    move(stored, keeper, 0, yard, heated)
    after = [(line.likely_days, line.least_days, line.most_days) for line in battery_below(stored, **days)]
    assert after == before


def test_the_air_of_each_day_is_that_of_the_place_of_that_day(stored, keeper, yard, bays):
    move(stored, keeper, 100, yard, bays[2])
    [through] = gather([stored.pk], today=TODAY).fleet.places
    [now] = gather_days(stored.pk, [ago(200)]).fleet.places
    moved = ago(100).toordinal() - through.first_day
    np.testing.assert_array_equal(through.min_c[:moved], now.min_c[:moved])
    assert through.min_c[moved] != now.min_c[moved]
    assert through.shelter == "enclosed"


def test_a_bay_that_is_no_more_still_lets_the_past_be_told(stored, keeper, yard, bays):
    move(stored, keeper, 100, yard, bays[2])
    yard.building.bays.all().delete()
    assert len(asked(stored, [ago(200), ago(50)])["charge"][1]) == 2


def _rule(part):
    return part.mean_c + part.max_c


def test_stays_are_day_by_day_the_places_they_are_made_of():
    one, other, cut = a_place("open"), a_place("heated"), FIRST_DAY + 5000
    stays = Stays((Part(one, FIRST_DAY, cut), Part(other, cut, FIRST_DAY + DAYS)))
    assert (stays.days, stays.end_day, stays.shelter) == (DAYS, FIRST_DAY + DAYS, "heated")
    near = slice(4990, 5010)
    for name in ("mean_c", "min_c", "max_c", "rh_pct"):
        column = getattr(stays, name)
        np.testing.assert_array_equal(column[:5000], getattr(one, name)[:5000])
        np.testing.assert_array_equal(column[5000:], getattr(other, name)[5000:])
    both = span(stays, FIRST_DAY + 4990, FIRST_DAY + 5010)
    np.testing.assert_array_equal(coldest(both, 5.0), coldest(stays, 5.0)[near])
    np.testing.assert_array_equal(courses(both)[0][:10], courses(span(one, cut - 10, cut))[0])
    np.testing.assert_array_equal(
        daily(stays, "both", _rule, cut - 10, cut + 10), (stays.mean_c + stays.max_c)[near]
    )
    assert span(stays, cut, cut + timedelta(days=9).days).shelter == "heated"
