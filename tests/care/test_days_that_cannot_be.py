"""Facts of days that cannot be: the message names field, fact and fix, and nothing is half written."""

from datetime import timedelta

import pytest
import time_machine
from django.core.exceptions import ValidationError

from collection.care.actions.care import log_entry
from collection.care.actions.record import Edit, open_records
from collection.cars.actions.batteries import fit_battery, save_battery
from collection.cars.actions.vehicles import save_vehicle
from collection.models import Battery, Entry, Evidence, Link, RecordEntry, Vehicle
from collection.recommission.actions.evidence import save_evidence
from tests.barn import TODAY
from tests.logbook import NOON, ago

STORED = (Entry, RecordEntry, Evidence, Link, Battery)


@pytest.fixture(autouse=True)
def _today(settings, tmp_path):
    settings.DATA_DIR = tmp_path
    with time_machine.travel(NOON, tick=False):
        yield


@pytest.fixture
def kept(car, neighbour_car, keeper, bays):
    """Two cars whose records stand in their chains since long: in A1 and in A2."""
    for each in (car, neighbour_car):
        open_records([each], Edit(keeper, NOON - timedelta(days=260), since=ago(260)))
    return Vehicle.objects.get(pk=car.pk)


def everything(car):
    counts = [model.objects.count() for model in STORED]
    return counts, Vehicle.objects.filter(pk=car.pk).values().get(), list(car.batteries.values())


def refused(car, act):
    """What is said at which field; nothing may be stored."""
    before = everything(car)
    with pytest.raises(ValidationError) as refusal:
        act()
    assert everything(car) == before
    return {name: " ".join(texts) for name, texts in refusal.value.message_dict.items()}


def log(car, by, kind, days_ago, key="a-key-of-this", **values):
    done = NOON - timedelta(days=days_ago)
    return log_entry(
        vehicle=Vehicle.objects.get(pk=car.pk),
        kind=kind,
        done_at=done,
        by=by,
        idempotency_key=key,
        now=NOON,
        **values,
    ).entry


def move(car, by, to, days_ago, key="a-move-of-this", **values):
    return log(car, by, "moved", days_ago, key, details={"wheels_only": False, "to_bay": to.pk}, **values)


def edit(car, by, since=None, **values):
    car = Vehicle.objects.get(pk=car.pk)
    for name, value in values.items():
        setattr(car, name, value)
    save_vehicle(vehicle=car, edit=Edit(by, NOON, since=since), today=TODAY)


def leave(car, by):
    edit(car, by, left_on=ago(20), bay=None)


# before it was built, after it left


@pytest.mark.parametrize("kind", ["note", "charge"])
def test_care_of_before_the_car_was_built(kept, keeper, kind):
    faults = refused(kept, lambda: log(kept, keeper, kind, 30_000, note="Seen.", details={}))
    assert faults["done_at"] == "This is before the car was built (1962): check the year."


def test_a_record_of_before_the_car_was_built(kept, keeper):
    faults = refused(kept, lambda: edit(kept, keeper, since=ago(30_000), on_stands=True))
    assert "before the car was built (1962): check the day" in faults["since"]


def test_care_and_record_of_after_it_left(kept, keeper):
    leave(kept, keeper)
    faults = refused(kept, lambda: log(kept, keeper, "inspected", 3, details={"ok": True}))
    assert "left storage on 5 Nov 2026: only notes may be added" in faults["kind"]
    faults = refused(kept, lambda: edit(kept, keeper, since=ago(3), on_stands=True))
    assert faults["since"] == "The car left storage on 5 Nov 2026: give that day or an earlier one."


def test_evidence_of_after_it_left(kept, keeper):
    leave(kept, keeper)
    row = Evidence(vehicle=Vehicle.objects.get(pk=kept.pk), kind="receipt", on=ago(3))
    faults = refused(kept, lambda: save_evidence(row=row, by=keeper, key="a-find", now=NOON))
    assert faults["on"] == "The car left storage on 5 Nov 2026: give that day or an earlier one."


# two places at once, two cars in one place


def test_two_places_at_once(kept, keeper, bays):
    move(kept, keeper, bays[2], 40)
    faults = refused(kept, lambda: move(kept, keeper, bays[0], 40, key="another-move"))
    assert faults["done_at"] == (
        "At that time it was moved to Long shed A3: give another time, or correct that move."
    )


def test_a_corrected_move_may_keep_its_time(kept, keeper, bays):
    first = move(kept, keeper, bays[2], 40)
    second = move(kept, keeper, bays[0], 40, key="another-move", corrects=first)
    assert second.details["to_bay"] == bays[0].pk


def test_a_bay_in_which_another_car_stands_now(kept, keeper, bays):
    faults = refused(kept, lambda: move(kept, keeper, bays[1], 0))
    assert "stood in that bay" in faults["to_bay"]
    faults = refused(kept, lambda: edit(kept, keeper, bay=bays[1]))
    assert "already stands in A2: choose a free bay" in faults["bay"]


def test_a_bay_in_which_another_car_stood_on_that_day(kept, neighbour_car, keeper, bays):
    """It stood in A2 until a month ago; A2 is free now."""
    move(neighbour_car, keeper, bays[2], 30, key="away")
    faults = refused(kept, lambda: move(kept, keeper, bays[1], 60))
    day = ago(60)
    assert faults["to_bay"] == (
        f"{neighbour_car} stood in that bay on {day:%-d %b %Y}: give another bay or day, or log its move."
    )
    assert move(kept, keeper, bays[1], 30).details["to_bay"] == bays[1].pk, "they changed on one day"


def test_a_record_dated_back_into_a_bay_in_which_another_car_stood_then(kept, neighbour_car, keeper, bays):
    move(neighbour_car, keeper, bays[2], 30, key="away")
    faults = refused(kept, lambda: edit(kept, keeper, since=ago(60), bay=bays[1]))
    day = ago(60)
    assert faults["since"] == (
        f"{neighbour_car} stood in that bay on {day:%-d %b %Y}: give another bay or day, or log its move."
    )
    edit(kept, keeper, since=ago(30), bay=bays[1])
    assert Vehicle.objects.get(pk=kept.pk).bay == bays[1]


def test_a_bay_whose_car_had_left_by_then(kept, neighbour_car, keeper, bays):
    leave(neighbour_car, keeper)
    refused(kept, lambda: move(kept, keeper, bays[1], 60))
    assert move(kept, keeper, bays[1], 10).details["to_bay"] == bays[1].pk


# parts


def test_a_battery_fitted_before_it_was_made(kept, keeper):
    battery = Battery(vehicle=kept, chemistry="agm", made_on=ago(100), installed_on=ago(200))
    faults = refused(kept, lambda: fit_battery(battery=battery, edit=Edit(keeper, NOON), today=TODAY))
    assert "made" in faults["installed_on"]


def test_something_of_a_battery_since_before_it_was_made(kept, keeper):
    battery = Battery(vehicle=kept, chemistry="agm", made_on=ago(100))
    faults = refused(
        kept, lambda: save_battery(battery=battery, edit=Edit(keeper, NOON, since=ago(200)), today=TODAY)
    )
    assert faults["since"] == f"The battery was made on {ago(100):%-d %b %Y}: give a later day."


# corrections of corrections


def test_what_was_corrected_is_not_corrected_again_but_its_correction_is(kept, keeper):
    first = log(kept, keeper, "note", 9, note="Left tyre low.")
    second = log(kept, keeper, "note", 9, key="second-note", note="Right tyre low.", corrects=first)

    def again():
        log(kept, keeper, "note", 9, key="third-note", note="Both low.", corrects=first)

    assert "open the log and correct theirs" in refused(kept, again)["corrects"]
    third = log(kept, keeper, "note", 9, key="third-note", note="Both low.", corrects=second)
    assert third.corrects == second


def test_a_withdrawal_is_not_corrected(kept, keeper):
    first = log(kept, keeper, "note", 9, note="Left tyre low.")
    gone = log(kept, keeper, "withdrawn", 9, key="take-it-back", note="Another car.", corrects=first)

    def back():
        log(kept, keeper, "withdrawn", 9, key="and-this-back", note="No.", corrects=gone)

    assert "log the work afresh instead" in refused(kept, back)["corrects"]


def test_evidence_that_was_replaced_is_not_replaced_again(kept, keeper):
    def find(key, corrects=None):
        row = Evidence(vehicle=kept, kind="receipt", on=ago(3000), corrects=corrects)
        return save_evidence(row=row, by=keeper, key=key, now=NOON)

    first = find("first")
    second = find("second", corrects=first)
    before = everything(kept)
    with pytest.raises(ValidationError, match="open the list and see theirs"):
        find("third", corrects=first)
    assert everything(kept) == before
    assert find("third", corrects=second).corrects == second
