"""The first look at a car of which nothing is known: one form, ordinary entries, stored once."""

import uuid

import pytest
import time_machine
from django.urls import reverse

from collection.life.duties import DUTY_TITLES, lines_of
from collection.life.refresh import refresh_vehicles
from collection.models import Entry
from tests.barn import TODAY, make_car
from tests.logbook import NOON


@pytest.fixture(autouse=True)
def _today():
    with time_machine.travel(NOON, tick=False):
        yield


@pytest.fixture
def new_car(barn, car):
    """Written down today, and nothing more."""
    facts = {"fuel_system": "", "system_volts": None, "tank_litres": None, "stored_since": TODAY}
    made = make_car(barn, car.owner, model="Newcomer", **facts)
    refresh_vehicles([made.pk], today=TODAY)
    return made


def states(car):
    return {line.duty: line.state for line in lines_of(car, TODAY)}


def look(client, car, **sent):
    given = {"leaks": "none", "rodents": "none", "key": str(uuid.uuid4())} | sent
    return client.post(reverse("look_over", args=[car.pk]), given)


def test_nothing_is_dated_for_a_car_that_came_today_with_nothing_known(new_car):
    now = states(new_car)
    assert set(now.values()) == {"unknown"}
    assert all(row.late >= TODAY for row in new_car.duties.exclude(late=None))
    assert lines_of(new_car, TODAY)[0].is_whole_car


def test_one_look_sets_what_was_measured_and_leaves_the_rest_unknown(client_as, keeper, new_car):
    sent = {
        "rested_volts": "12.6",
        "tyre_pressure_front_left": "2.1",
        "odometer": "48210",
        "stands": "on the ground",
    }
    assert look(client_as(keeper), new_car, **sent).status_code == 302
    kinds = {entry.kind: entry for entry in Entry.objects.filter(vehicle=new_car)}
    assert set(kinds) == {"battery_reading", "tyre_pressures", "inspected"}
    assert kinds["inspected"].details == {"ok": True}
    assert kinds["inspected"].note == "First look. Odometer: 48210. Wheels: on the ground."
    still = {duty for duty, state in states(new_car).items() if state in ("unknown", "on_hold")}
    assert set(DUTY_TITLES) - still == {"charge", "tyre_pressure", "inspection"}


def test_what_is_found_is_a_finding(client_as, keeper, new_car):
    look(client_as(keeper), new_car, leaks="found")
    assert Entry.objects.get(vehicle=new_car).details == {"ok": False, "found": ["Leak under the car"]}


def test_sent_twice_it_is_stored_once(client_as, keeper, new_car):
    client, key = client_as(keeper), str(uuid.uuid4())
    for _ in range(2):
        assert look(client, new_car, rested_volts="12.6", key=key).status_code == 302
    assert Entry.objects.filter(vehicle=new_car).count() == 2


def test_leaks_and_rodents_must_be_looked_for_and_nothing_is_prefilled(client_as, keeper, new_car):
    client = client_as(keeper)
    form = client.get(reverse("look_over", args=[new_car.pk])).context["form"]
    assert set(form.initial) == {"key"}
    refused = look(client, new_car, leaks="", rested_volts="12.6")
    assert set(refused.context["form"].errors) == {"leaks"}
    assert not Entry.objects.exists()


def test_what_the_log_refuses_is_told_and_nothing_is_stored(client_as, keeper, new_car):
    refused = look(client_as(keeper), new_car, rested_volts="12.6", tyre_pressure_front_left="99")
    assert "tyre_pressure_front_left" in refused.context["form"].errors
    assert not Entry.objects.exists()


def test_a_car_of_which_nothing_is_known_may_do_nothing_before_it_is_looked_over(client_as, keeper, new_car):
    client, page = client_as(keeper), reverse("car", args=[new_car.pk])
    before = client.get(page).content.decode()
    assert "✓" not in before
    assert before.count('state-unknown">? May') == 4
    look(client, new_car)
    after = client.get(page).content.decode()
    assert "No tag and no hazard on record forbids anything. That is no proof that it is fit" in after
    assert "? May" not in after
    assert "✓" not in after, "no step was gone through: the record cannot vouch for the road"
