"""The care log through its one action: what is stored, what is refused, and what follows from it."""

from datetime import UTC, date, datetime, timedelta

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError

from collection.care.actions import care
from collection.care.actions.care import Measured, log_entry
from collection.care.queries.care import last_values, log_of, open_tags
from collection.models import CareKind, DutyRow, Entry, Reading
from collection.models.care import effective

NOW = datetime(2026, 11, 25, 10, 0, tzinfo=UTC)
TYRES = [Measured("tyre_pressure", 220, p) for p in ("front_left", "front_right", "rear_left", "rear_right")]


@pytest.fixture
def log(car, keeper):
    keys = iter(range(1000))

    def log_one(kind, *, now=NOW, **fields):
        fields = {
            "vehicle": car,
            "by": keeper,
            "done_at": NOW,
            "idempotency_key": f"key-{next(keys)}",
        } | fields
        return log_entry(kind=kind, now=now, **fields)

    return log_one


def faults(log, kind, **fields):
    """What is refused, by field; and that nothing was stored."""
    before = Entry.objects.count(), Reading.objects.count()
    with pytest.raises(ValidationError) as refused:
        log(kind, **fields)
    assert (Entry.objects.count(), Reading.objects.count()) == before
    return refused.value.message_dict


SOUND = [
    ("charge", {"completed": True, "hours": 9, "amps": 4}, [Measured("rested_volts", 12.31)]),
    ("maintainer", {"state": "on"}, []),
    (
        "battery_reading",
        {},
        [Measured("specific_gravity", 1.24, str(cell), 12.0, 10.0) for cell in range(1, 7)]
        + [Measured("key_off_drain", 0.025)],
    ),
    (
        "run_up",
        {"minutes": 45, "reached_temperature": True, "driven": True, "distance_km": 31},
        [Measured("oil_pressure", 310), Measured("charging_volts", 14.1)],
    ),
    ("stabiliser", {"litres": 40, "dose_ml": 100, "ratio": 400}, []),
    ("fuel_added", {"litres": 20, "bio_pct": 5}, []),
    ("diesel_additive", {"additive_ml": 100}, []),
    ("fuel_drained", {"emptied": True}, []),
    ("fluid_changed", {"fluid": "coolant", "glycol_pct": 45}, []),
    ("fluid_reading", {}, [Measured("brake_water", 2.1), Measured("coolant_freeze_point", -31)]),
    ("fluid_checked", {"looked_at": "gearbox_oil", "condition": "good"}, []),
    ("tyre_pressures", {"topped_up": True}, TYRES),
    ("moved", {"wheels_only": True}, []),
    ("inspected", {"ok": False, "found": ["Low or flat tyre"]}, [Measured("surface_rh", 71)]),
    ("tag_opened", {"tag": "drained", "where": "sump, plug in the door"}, []),
    ("not_done", {"duty": "charge", "reason": "Locked, no key"}, []),
    ("waking_result", {"check": "hand_turn", "answer": "smoothly", "instrument": "spanner"}, []),
    ("system_seen", {"system": "wiring", "seen": "faulty", "text": "gnawed at the coil"}, []),
    ("hazard", {"hazard": "fuel leak", "present": True}, []),
    ("fault_test", {"symptom": "no-charge", "begun": True}, []),
    ("note", {}, []),
]


@pytest.mark.parametrize(("kind", "details", "readings"), SOUND, ids=[case[0] for case in SOUND])
def test_each_kind_is_stored_as_said_with_author_and_both_times(log, car, keeper, kind, details, readings):
    done = NOW - timedelta(hours=3)
    entry = log(kind, details=details, readings=readings, done_at=done, note="said").entry
    stored = Entry.objects.get(pk=entry.pk)
    assert (stored.kind, stored.by, stored.done_at, stored.recorded_at) == (kind, keeper, done, NOW)
    assert details.items() <= stored.details.items()
    kept = [(r.quantity, r.value, r.position, r.temperature_c, r.rest_hours) for r in stored.readings.all()]
    assert kept == [(r.quantity, r.value, r.position, r.temperature_c, r.rest_hours) for r in readings]


def test_every_kind_but_those_that_need_something_earlier_is_tried_above():
    assert set(CareKind.values) - {case[0] for case in SOUND} == {"withdrawn", "tag_closed", "own_duty"}


BAD = [
    ("charge", {"completed": True}, [Measured("rested_volts", -1)], "rested_volts", "0 to"),
    ("charge", {"completed": True}, [Measured("rested_volts", 128)], "rested_volts", "12 V system"),
    ("charge", {"completed": True}, [Measured("rested_volts", float("nan"))], "rested_volts", "number"),
    ("charge", {}, [], "completed", "needed"),
    ("charge", {"completed": "yes"}, [], "completed", "yes or no"),
    ("charge", {"completed": True, "colour": "red"}, [], "colour", "no such detail"),
    ("charge", {"completed": True}, [Measured("brake_water", 2)], "brake_water", "holds no reading"),
    ("battery_reading", {}, [], "readings", "at least one"),
    ("battery_reading", {}, [Measured("specific_gravity", 0.9, "1")], "specific_gravity_1", "1 to 1.35"),
    ("battery_reading", {}, [Measured("specific_gravity", 1.2, "9")], "specific_gravity_9", "where"),
    ("battery_reading", {}, [Measured("rested_volts", 12.4, "", 400)], "temperature_c", "−60 to 80"),
    ("run_up", {"minutes": 601, "reached_temperature": True, "driven": True}, [], "minutes", "0 to 600"),
    ("run_up", {"minutes": -1, "reached_temperature": True, "driven": True}, [], "minutes", "0 to 600"),
    (
        "run_up",
        {"minutes": 20, "reached_temperature": False, "driven": False, "distance_km": 3},
        [],
        "distance_km",
        "not driven",
    ),
    ("stabiliser", {"litres": 46}, [], "litres", "45 litres"),
    ("stabiliser", {"litres": 40, "dose_ml": 5001}, [], "dose_ml", "0 to 5000"),
    ("fuel_added", {"litres": 46}, [], "litres", "holds 45 litres"),
    ("fuel_added", {"litres": 20, "bio_pct": 101}, [], "bio_pct", "0 to 100"),
    ("fuel_added", {"litres": 20, "grade": "paraffin"}, [], "grade", "choose one of"),
    ("fluid_changed", {"fluid": "washer"}, [], "fluid", "choose one of"),
    ("fluid_changed", {"fluid": "brake_fluid", "type": "porridge"}, [], "type", "no such type"),
    ("fluid_changed", {"fluid": "engine_oil", "glycol_pct": 40}, [], "glycol_pct", "Only coolant"),
    ("tyre_pressures", {}, [Measured("tyre_pressure", 901, "spare")], "tyre_pressure_spare", "0 to 900"),
    ("tyre_pressures", {}, [Measured("tyre_pressure", 220)], "tyre_pressure", "where"),
    ("tyre_pressures", {}, [TYRES[0], TYRES[0]], "tyre_pressure_front_left", "twice"),
    ("moved", {"wheels_only": False}, [], "to_bay", "where the car stands"),
    ("moved", {"wheels_only": False, "to_bay": 10**9}, [], "to_bay", "no such bay"),
    ("moved", {"wheels_only": False, "to_bay": 10**30}, [], "to_bay", "no such bay"),
    ("tag_opened", {"tag": "drained", "where": "sump\0"}, [], "where", "null"),
    ("inspected", {"ok": True, "found": "leak"}, [], "found", "list"),
    ("tag_opened", {"tag": "drained", "where": " "}, [], "where", "needed"),
    ("tag_closed", {"opened": "the red one"}, [], "opened", "No such tag"),
    ("not_done", {"duty": "polish", "reason": "rain"}, [], "duty", "no such work"),
    ("note", {}, [], "note", "Write"),
    ("withdrawn", {}, [], "corrects", "which entry"),
    ("polish", {}, [], "kind", "no kind of entry"),
]


@pytest.mark.parametrize(("kind", "details", "readings", "field", "words"), BAD)
def test_bad_input_is_refused_naming_the_field_and_the_fix(log, kind, details, readings, field, words):
    refused = faults(log, kind, details=details, readings=readings)
    assert list(refused) == [field]
    assert words in refused[field][0]


@pytest.mark.parametrize(
    ("done_at", "words"),
    [
        (NOW + timedelta(minutes=6), "future"),
        (datetime(1884, 12, 31, tzinfo=UTC), "first motor car"),
        (datetime(2026, 11, 25, 10, 0), "time zone"),  # noqa: DTZ001  # that is the fault
    ],
)
def test_a_time_that_cannot_be_is_refused(log, done_at, words):
    assert words in faults(log, "note", note="x", done_at=done_at)["done_at"][0]


@pytest.mark.parametrize(("note", "words"), [("x" * 2001, "shorten"), ("x\0y", "null")])
def test_a_note_too_long_or_unprintable_is_refused(log, note, words):
    assert words in faults(log, "note", note=note)["note"][0]


def test_a_phone_clock_may_run_five_minutes_ahead(log):
    assert log("note", note="x", done_at=NOW + timedelta(minutes=5)).created


def test_a_bay_of_another_organisation_is_no_bay(log, foreign_car, other_barn):
    bay = other_barn.sites.get().buildings.get().bays.first()
    assert faults(log, "moved", details={"wheels_only": False, "to_bay": bay.pk})["to_bay"]


# --- sent twice ----------------------------------------------------------------------------------


def test_sent_twice_with_one_key_is_stored_once(log):
    fields = {
        "idempotency_key": "one",
        "details": {"completed": True},
        "readings": [Measured("rested_volts", 12)],
    }
    first, second = log("charge", **fields), log("charge", now=NOW + timedelta(hours=1), **fields)
    assert (first.created, second.created) == (True, False)
    assert first.entry == second.entry
    assert (Entry.objects.count(), Reading.objects.count()) == (1, 1)


def test_a_move_sent_twice_is_the_same_move_although_the_car_stands_elsewhere_by_then(log, bays):
    fields = {"idempotency_key": "one", "details": {"wheels_only": False, "to_bay": bays[2].pk}}
    assert [log("moved", **fields).created, log("moved", **fields).created] == [True, False]


@pytest.mark.parametrize(
    "other",
    [
        {"kind": "maintainer", "details": {"state": "on"}},
        {"details": {"completed": False}},
        {"readings": [Measured("rested_volts", 12.1)]},
        {"note": "other"},
        {"done_at": NOW - timedelta(days=1)},
    ],
)
def test_one_key_with_other_content_is_refused(log, other):
    fields = {"kind": "charge", "details": {"completed": True}, "readings": [Measured("rested_volts", 12)]}
    log(idempotency_key="one", **fields)
    assert "new key" in faults(log, **({"idempotency_key": "one"} | fields | other))["idempotency_key"][0]


def test_one_key_serves_for_two_cars(log, neighbour_car):
    log("note", note="x", idempotency_key="one")
    assert log("note", note="x", idempotency_key="one", vehicle=neighbour_car).created


def test_a_twin_that_stores_between_look_and_write_wins_and_its_entry_is_returned(log, monkeypatch):
    """The database's own constraint decides the race; the loser gets the winner's entry."""
    store, twin = care._store, {}

    def overtaken(draft, by, key, now):
        monkeypatch.setattr(care, "_store", store)
        twin["entry"] = store(draft, by, key, now)
        return store(draft, by, key, now)

    monkeypatch.setattr(care, "_store", overtaken)
    logged = log("note", note="x", idempotency_key="one")
    assert (logged.created, logged.entry) == (False, twin["entry"])
    assert Entry.objects.count() == 1


@pytest.mark.parametrize("key", ["", "k" * 65])
def test_an_entry_needs_a_key_of_fitting_length(log, key):
    assert faults(log, "note", note="x", idempotency_key=key)["idempotency_key"]


# --- corrections ---------------------------------------------------------------------------------


def test_a_correction_takes_the_place_of_the_old_entry_which_stays(log, car):
    old = log("charge", details={"completed": True}, readings=[Measured("rested_volts", 11.2)]).entry
    new = log(
        "charge", corrects=old, details={"completed": True}, readings=[Measured("rested_volts", 12.2)]
    ).entry
    assert list(effective(Entry.objects.all())) == [new]
    assert set(log_of(car)) == {old, new}
    assert last_values(car).readings["rested_volts", ""].value == 12.2


def test_a_withdrawn_entry_no_longer_counts(log, car):
    old = log("charge", details={"completed": True}, readings=[Measured("rested_volts", 11.2)]).entry
    log("withdrawn", corrects=old, note="other car")
    assert not effective(Entry.objects.all()).exists()
    assert not last_values(car).readings


def test_the_second_corrector_is_told_that_somebody_was_faster(log):
    old = log("note", note="x").entry
    log("note", note="y", corrects=old)
    assert "already corrected" in faults(log, "note", note="z", corrects=old)["corrects"][0]


def test_two_correctors_at_once_leave_one_correction(log, monkeypatch):
    old = log("note", note="x").entry
    store = care._store

    def overtaken(draft, by, key, now):
        store(draft, by, "somebody else's", now)
        return store(draft, by, key, now)

    monkeypatch.setattr(care, "_store", overtaken)
    with pytest.raises(ValidationError, match="already corrected"):
        log("note", note="y", corrects=old)


@pytest.mark.parametrize("fault", [{"kind": "charge", "details": {"completed": True}}, {"vehicle": "other"}])
def test_a_correction_is_of_the_same_kind_and_the_same_car(log, neighbour_car, fault):
    old = log("note", note="x").entry
    fault = fault | ({"vehicle": neighbour_car} if "vehicle" in fault else {})
    assert faults(log, **({"kind": "note", "note": "y", "corrects": old} | fault))


def test_a_withdrawal_is_final(log):
    gone = log("withdrawn", corrects=log("note", note="x").entry).entry
    assert "afresh" in faults(log, "withdrawn", corrects=gone)["corrects"][0]


def test_a_broken_database_is_not_called_a_correction(log, monkeypatch):
    def broken(*_):
        raise IntegrityError("disk")

    monkeypatch.setattr(care, "_store", broken)
    with pytest.raises(IntegrityError):
        log("note", note="x")


# --- moves ---------------------------------------------------------------------------------------


def move(log, bay, **fields):
    return log("moved", details={"wheels_only": False, "to_bay": bay.pk}, **fields).entry


def test_a_move_puts_the_car_in_its_new_bay_and_the_log_says_from_where(log, car, bays):
    entry = move(log, bays[2])
    car.refresh_from_db()
    assert car.bay == bays[2]
    assert (entry.details["from_bay"], entry.details["to_bay_label"]) == (bays[0].pk, str(bays[2]))


def test_a_taken_bay_is_refused_naming_the_car_in_it(log, car, neighbour_car, bays):
    refused = faults(log, "moved", details={"wheels_only": False, "to_bay": bays[1].pk})
    assert str(neighbour_car) in refused["to_bay"][0]
    car.refresh_from_db()
    assert car.bay == bays[0]


def test_turning_the_wheels_leaves_the_car_in_its_bay(log, car, bays):
    log("moved", details={"wheels_only": True})
    car.refresh_from_db()
    assert car.bay == bays[0]


def test_a_move_out_of_the_bays_frees_the_bay(log, car, bays):
    log("moved", details={"wheels_only": False, "to_bay_label": "workshop"})
    car.refresh_from_db()
    assert car.bay is None


def test_a_withdrawn_move_puts_the_car_back(log, car, bays):
    log("withdrawn", corrects=move(log, bays[2]))
    car.refresh_from_db()
    assert car.bay == bays[0]


def test_a_corrected_move_puts_the_car_where_it_really_went(log, car, bays):
    wrong = move(log, bays[1])
    right = move(log, bays[2], corrects=wrong)
    car.refresh_from_db()
    assert car.bay == bays[2]
    assert right.details["from_bay"] == bays[0].pk


def test_a_move_logged_late_does_not_undo_a_later_one(log, car, bays):
    move(log, bays[2])
    move(log, bays[1], done_at=NOW - timedelta(days=2))
    car.refresh_from_db()
    assert car.bay == bays[2]


def test_a_withdrawn_move_whose_bay_was_given_away_is_refused(log, car, neighbour_car, bays):
    moved = move(log, bays[2])
    neighbour_car.bay = bays[0]
    neighbour_car.save()
    assert str(neighbour_car) in faults(log, "withdrawn", corrects=moved)["to_bay"][0]


# --- tags, left cars, duties ---------------------------------------------------------------------


def hang(log):
    return log("tag_opened", details={"tag": "drain_open", "where": "sump plug"}).entry


def test_a_tag_hangs_until_it_is_taken_off_once(log, car):
    tag = hang(log)
    assert list(open_tags([car])) == [tag]
    log("tag_closed", details={"opened": str(tag.pk)})
    assert not open_tags([car])
    assert faults(log, "tag_closed", details={"opened": str(tag.pk)})["opened"]


def test_a_tag_of_another_car_cannot_be_taken_off_here(log, neighbour_car):
    tag = hang(log)
    assert faults(log, "tag_closed", details={"opened": str(tag.pk)}, vehicle=neighbour_car)["opened"]


def test_withdrawing_the_taking_off_hangs_the_tag_again(log, car):
    tag = hang(log)
    off = log("tag_closed", details={"opened": str(tag.pk)}).entry
    log("withdrawn", corrects=off)
    assert list(open_tags([car])) == [tag]


@pytest.mark.parametrize("kind", ["withdrawn", "tag_opened"])
def test_a_tag_that_is_off_is_not_corrected(log, kind):
    tag = hang(log)
    log("tag_closed", details={"opened": str(tag.pk)})
    details = tag.details if kind == "tag_opened" else {}
    assert "taken off" in faults(log, kind, corrects=tag, details=details)["corrects"][0]


def test_a_car_that_left_takes_notes_only(log, car):
    car.left_on = date(2026, 11, 1)
    car.save()
    assert "only notes" in faults(log, "charge", details={"completed": True})["kind"][0]
    assert log("note", note="Sold on.").created


def charge_due(car):
    return DutyRow.objects.get(vehicle=car, duty="charge").due


def test_logging_a_charge_moves_the_charge_duty_at_once_and_withdrawing_moves_it_back(log, car):
    log("charge", details={"completed": True}, done_at=NOW - timedelta(days=200))
    before = charge_due(car)
    entry = log("charge", details={"completed": True}).entry
    assert charge_due(car) > before
    log("withdrawn", corrects=entry)
    assert charge_due(car) == before
