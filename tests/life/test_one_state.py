"""One state of a car and a day: what is drawn, counted, sent and worked out elsewhere is the same."""

from datetime import date, timedelta

import numpy as np
import pytest
import time_machine

from collection.care.actions.record import Edit, open_records, recorded
from collection.due.core.curves import curves
from collection.due.curve_strips import with_curves
from collection.history.core.exceeded import battery_below
from collection.life.core.gather import gather, stretches
from collection.life.core.store import policy_of
from collection.models import Battery, Vehicle
from scheduler.duties.battery.charge.now import battery_now
from tests.api.api_kit import programme
from tests.barn import TODAY
from tests.life.test_dated import change
from tests.logbook import NOON, ago, ahead, write

FULL = {"completed": True}
SPAN = {"first": ago(365), "last": ahead(365), "today": TODAY}


@pytest.fixture(autouse=True)
def _today():
    with time_machine.travel(NOON, tick=False):
        yield


@pytest.fixture
def stored(car, bays, keeper):
    car.bay, car.stored_since = bays[0], ago(550)
    car.save()
    Battery.objects.create(
        vehicle=car, chemistry="calcium", capacity_ah=60, volts=12, installed_on=ago(900), drain_ma=30
    )
    car.tyres.create(position="front_left", date_code="2319", placard_kpa=220)
    car.fluids.create(kind="coolant", type="eg_inorganic", changed_on=ago(800), glycol_pct=40)
    type(car).fuel.related.related_model.objects.create(
        vehicle=car, grade="petrol_e5", bio_pct=5, litres=40, filled_on=ago(560), as_of=ago(550)
    )
    write(car, keeper, "charge", 300, details=FULL)
    open_records([car], Edit(keeper, NOON - timedelta(days=500)))
    return Vehicle.objects.get(pk=car.pk)


def curve(car, duty, **span):
    [drawn] = curves(car, [duty], **(SPAN | span))
    return dict(zip(drawn.band.days.astype(int), drawn.band.likely, strict=True))


def on(line, day):
    return line[day.toordinal()]


def pressures(car, by, days_ago, kpa, **details):
    readings = [{"quantity": "tyre_pressure", "value": kpa, "position": "front_left"}]
    write(car, by, "tyre_pressures", days_ago, readings=readings, details=details)


def test_the_curve_of_today_is_the_state_of_today(stored):
    fleet = gather([stored.pk], today=TODAY).fleet
    now = battery_now(fleet, float(TODAY.toordinal()), policy_of(stored.organisation_id))
    assert on(curve(stored, "charge"), TODAY) == pytest.approx(now.soc[1, 0], abs=1e-9)


def test_an_isolator_opened_today_slows_what_comes_and_not_what_was(stored, keeper):
    before = curve(stored, "charge")
    change(stored, keeper, battery__isolated=True)
    after = curve(stored, "charge")
    assert [on(after, ago(n)) for n in (250, 100, 1)] == [on(before, ago(n)) for n in (250, 100, 1)]
    assert on(after, ahead(30)) > on(before, ahead(30))


def test_another_battery_of_today_leaves_the_curve_of_the_former(stored, keeper):
    before = curve(stored, "charge")
    stored.batteries.update(removed_on=TODAY)
    stored.batteries.create(chemistry="agm", capacity_ah=95, volts=12, made_on=ago(60), installed_on=TODAY)
    after = curve(stored, "charge")
    assert on(after, ago(100)) == on(before, ago(100))
    assert on(after, ahead(100)) != on(before, ahead(100))


def test_a_drain_that_was_first_measured_today_was_there_before(stored, keeper):
    with recorded(stored, Edit(keeper, NOON, corrects=True)):
        stored.batteries.update(drain_ma=None)
    write(stored, keeper, "charge", 10, details=FULL)
    usual = on(curve(stored, "charge"), ago(1))
    write(stored, keeper, "battery_reading", 0, readings=[{"quantity": "key_off_drain", "value": 0.2}])
    assert on(curve(stored, "charge"), ago(1)) < usual


def test_tyres_before_a_reading_stood_at_what_the_reading_before_tells(stored, keeper):
    pressures(stored, keeper, 200, 210.0)
    before = on(curve(stored, "tyre_pressure"), ago(100))
    pressures(stored, keeper, 5, 150.0, topped_up=True)
    after = curve(stored, "tyre_pressure")
    assert on(after, ago(100)) == pytest.approx(before)
    assert on(after, ago(5)) > 215 > 201 > on(after, ago(6))


def test_page_programme_and_count_give_one_state_of_each_day(stored, manager, keeper):
    pressures(stored, keeper, 200, 210.0)
    pressures(stored, keeper, 90, 190.0)
    change(stored, keeper, since=ago(100), battery__isolated=True)
    api = programme(manager)
    for duty in with_curves():
        drawn = curve(stored, duty, first=ago(120))
        sent = api.get(f"/cars/{stored.pk}/duties/{duty}/curve", back_days=120, ahead_days=365).json()
        for day, value in zip(sent["days"], sent["likely"], strict=True):
            mine = on(drawn, date.fromisoformat(day))
            assert value == (None if np.isnan(mine) else pytest.approx(mine, abs=1e-9)), (duty, day)
    past = curve(stored, "charge", first=ago(300), last=TODAY)
    below = battery_below(stored, first=ago(300), last=TODAY)[0]
    assert below.likely_days == sum(level < below.line for level in past.values())


def test_a_stretch_ends_where_a_part_became_otherwise_and_nowhere_else(stored, keeper):
    change(stored, keeper, since=ago(100), battery__isolated=True)
    change(stored, keeper, since=ago(50), regime="preserved")
    parts = stretches(stored.pk, first=ago(365), last=ahead(10), today=TODAY)
    assert [(part.first, part.last, bool(part.fleet.isolated[0])) for part in parts] == [
        (ago(365).toordinal(), ago(101).toordinal(), False),
        (ago(100).toordinal(), ahead(10).toordinal(), True),
    ]
