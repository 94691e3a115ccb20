"""Own rules: decided with a reason, by someone, from a day; in the record, its chain and its past."""

from datetime import timedelta

import pytest
import time_machine
from django.core.exceptions import ValidationError
from django.urls import reverse

from collection.care.actions.care import log_entry
from collection.care.actions.record import Edit
from collection.cars.actions.rules import save_car_rule, save_kind_rule
from collection.cars.actions.vehicles import save_vehicle
from collection.cars.record_words import record_lines
from collection.chain.verify import verify
from collection.life.core.gather import gather_days
from collection.life.refresh import refresh_vehicles
from collection.models import CarRule, DutyRow, KindRule, RecordEntry
from collection.proof.actions import export_history
from collection.web.units import edge
from tests.barn import TODAY
from tests.logbook import NOON, ago, ahead

SENT = {"how": "own", "number": "24", "unit": "month", "reason": "handbook: 24 months"}


@pytest.fixture(autouse=True)
def _today():
    with time_machine.travel(NOON, tick=False):
        yield


@pytest.fixture
def changed(car, keeper):
    """The record of the car is a year old, and its brake fluid as old as that."""
    log_entry(
        vehicle=car,
        kind="fluid_changed",
        done_at=NOON - timedelta(days=400),
        by=keeper,
        idempotency_key="brake fluid",
        now=NOON - timedelta(days=400),
        details={"fluid": "brake_fluid", "type": "dot_4"},
    )
    refresh_vehicles([car.pk], today=TODAY)
    return car


def decide(car, by, duty="brake_fluid", days_ago=0, **values):
    when = NOON - timedelta(days=days_ago)
    rule = CarRule.objects.filter(vehicle=car, duty=duty).first() or CarRule(vehicle=car, duty=duty)
    for name, value in values.items():
        setattr(rule, name, value)
    save_car_rule(rule=rule, edit=Edit(by, when), today=when.date())


def row(car, duty="brake_fluid"):
    return DutyRow.objects.get(vehicle=car, duty=duty)


def test_an_own_interval_sets_the_date_and_every_page_says_why(client_as, keeper, changed):
    client, address = client_as(keeper), reverse("car_rule", args=[changed.pk, "brake_fluid"])
    answer = client.post(address, SENT, follow=True)
    assert answer.redirect_chain == [(reverse("why", args=[changed.pk, "brake_fluid"]), 302)]
    assert row(changed).due == ago(400) + timedelta(days=730)
    assert row(changed).limit == "every 24 months: handbook: 24 months"
    page = answer.content.decode()
    assert "Every 24 months (handbook: 24 months)" in " ".join(page.split())
    assert "handbook: 24 months" in client.get(reverse("own_rules")).content.decode()
    assert 'value="24"' in client.get(address).content.decode()


def test_what_is_decided_is_an_entry_of_the_chain_and_the_record_says_it_in_words(changed, keeper):
    decide(changed, keeper, interval="24 months", reason="handbook")
    entry = RecordEntry.objects.filter(vehicle=changed).last()
    assert entry.by == keeper
    assert entry.facts["rule.brake_fluid.interval"]["now"] == "24 months"
    decide(changed, keeper, interval="", reason="", put_off_until=ahead(30), put_off_reason="parts awaited")
    day = f"{TODAY.day} {TODAY:%b %Y}"
    until = ahead(30)
    lines_of_change = [change for line in record_lines(changed, edge("metric")) for change in line.changes]
    assert f"from {day} brake fluid every 24 months (handbook)" in lines_of_change
    assert (
        f"from {day} brake fluid as worked out again; put off until {until.day} {until:%b %Y} (parts awaited)"
        in lines_of_change
    )
    exported = export_history(changed, now=NOON)
    assert verify(exported).faults == []


def test_a_rule_that_was_changed_behind_the_chain_is_named(changed, keeper):
    decide(changed, keeper, interval="24 months", reason="handbook")
    CarRule.objects.filter(vehicle=changed).update(interval="36 months")
    faults = verify(export_history(changed, now=NOON)).faults
    assert ["36 months" in fault.text and "24 months" in fault.text for fault in faults] == [True]


def test_each_day_of_the_past_counts_by_the_interval_of_its_day(changed, keeper):
    decide(changed, keeper, days_ago=100, interval="6 months", reason="handbook")
    decide(changed, keeper, days_ago=10, interval="24 months", reason="another handbook")
    rules = gather_days(changed.pk, [ago(101), ago(99), ago(11), ago(9)]).fleet.rules
    assert rules.row.tolist() == [1, 2, 3]
    assert rules.interval_days == pytest.approx([182.6, 182.6, 730.5], abs=0.1)


def test_not_for_this_car_is_asked_of_nobody_and_an_empty_form_asks_again(client_as, keeper, changed):
    client, address = client_as(keeper), reverse("car_rule", args=[changed.pk, "brake_fluid"])
    client.post(address, {"how": "never", "unit": "month", "reason": "cable brakes"})
    assert (row(changed).due, row(changed).limit) == (None, "not for this car: cable brakes")
    client.post(address, {"how": "", "unit": "month"})
    assert row(changed).due is not None
    assert not CarRule.objects.exists()


def test_put_off_is_on_hold_with_its_reason_until_its_day(changed, keeper):
    decide(changed, keeper, put_off_until=ahead(20), put_off_reason="parts awaited")
    until = ahead(20)
    assert row(changed).hold == f"put off until {until.day} {until:%b %Y}: parts awaited"
    refresh_vehicles([changed.pk], today=until)
    assert row(changed).hold == ""


@pytest.mark.parametrize(
    ("sent", "fault"),
    [
        (SENT | {"reason": ""}, "Say why"),
        (SENT | {"number": ""}, "Give a number"),
        (SENT | {"number": "400", "unit": "year"}, "at most 30 years"),
        ({"unit": "month", "put_off_until": ago(1), "put_off_reason": "x"}, "a day to come"),
        ({"unit": "month", "put_off_until": ahead(9)}, "Say why it is put off"),
        ({"unit": "month", "not_before": ahead(9)}, "Say why"),
        ({"unit": "fortnight"}, "Select a valid choice"),
    ],
)
def test_what_cannot_be_is_refused_at_its_field_and_nothing_is_kept(client_as, keeper, changed, sent, fault):
    answer = client_as(keeper).post(reverse("car_rule", args=[changed.pk, "brake_fluid"]), sent)
    assert answer.status_code == 200
    assert fault in answer.content.decode()
    assert not CarRule.objects.exists()


def kind(barn, **values):
    return KindRule(organisation=barn, duty="brake_fluid", interval="36 months", reason="handbook", **values)


def test_a_rule_of_a_kind_is_written_on_each_such_car_now_and_later(barn, manager, changed, neighbour_car):
    edit = Edit(manager, NOON)
    assert save_kind_rule(rule=kind(barn, marque="wendlow", model="Twelve"), edit=edit, today=TODAY) == 1
    assert changed.rules.get().interval == "36 months"
    assert "rule.brake_fluid.interval" in RecordEntry.objects.filter(vehicle=changed).last().facts
    neighbour_car.model = "Twelve"
    save_vehicle(vehicle=neighbour_car, edit=edit, today=TODAY)
    assert neighbour_car.rules.get().kind == changed.rules.get().kind
    assert verify(export_history(neighbour_car, now=NOON)).faults == []


def test_what_is_decided_for_one_car_stands_before_its_kinds_and_the_narrowest_kind_counts(
    barn, manager, changed, neighbour_car
):
    edit = Edit(manager, NOON)
    decide(changed, manager, interval="12 months", reason="raced")
    save_kind_rule(rule=kind(barn, marque="Wendlow"), edit=edit, today=TODAY)
    narrow = kind(barn, marque="Wendlow", model="Sixteen")
    narrow.interval = "18 months"
    save_kind_rule(rule=narrow, edit=edit, today=TODAY)
    assert changed.rules.get().interval == "12 months"
    assert neighbour_car.rules.get().interval == "18 months"
    decide(changed, manager, interval="", reason="")
    assert changed.rules.get().interval == "36 months"


def test_ending_a_rule_of_a_kind_takes_it_off_its_cars(client_as, barn, manager, changed):
    rule = kind(barn, marque="Wendlow")
    save_kind_rule(rule=rule, edit=Edit(manager, NOON), today=TODAY)
    client_as(manager).post(reverse("kind_rule", args=[rule.pk]), {"end": "1"})
    assert not CarRule.objects.exists()
    assert not KindRule.objects.exists()
    assert (
        RecordEntry.objects.filter(vehicle=changed).last().facts["rule.brake_fluid.interval"]["now"] is None
    )
    assert verify(export_history(changed, now=NOON)).faults == []


def test_a_kind_is_of_ones_own_barn_and_is_never_changed_elsewhere(
    barn, manager, foreign_car, client_as, outsider
):
    rule = kind(barn, marque="Wendlow")
    save_kind_rule(rule=rule, edit=Edit(manager, NOON), today=TODAY)
    assert not foreign_car.rules.exists()
    assert client_as(outsider).get(reverse("kind_rule", args=[rule.pk])).status_code == 404


def test_the_same_duty_of_the_same_kind_is_decided_once(barn, manager, car):
    save_kind_rule(rule=kind(barn, marque="Wendlow"), edit=Edit(manager, NOON), today=TODAY)
    with pytest.raises(ValidationError, match="already"):
        save_kind_rule(rule=kind(barn, marque="Wendlow"), edit=Edit(manager, NOON), today=TODAY)


def test_the_kind_form_says_what_it_needs(client_as, manager, barn, changed):
    client = client_as(manager)
    answer = client.post(reverse("kind_rule_new"), SENT | {"duty": "brake_fluid"})
    assert "Say which cars" in answer.content.decode()
    client.post(reverse("kind_rule_new"), SENT | {"duty": "brake_fluid", "marque": "Wendlow"})
    assert list(CarRule.objects.values_list("interval", flat=True)) == ["24 months"]
