"""A car's record in its chain: each save an entry, dated, checked, told again by its entries, never half."""

from datetime import date, timedelta
from types import SimpleNamespace

import pytest
import time_machine
from django.core.exceptions import ValidationError
from django.db import connection
from django.urls import reverse

from collection.care.actions import record as act
from collection.care.actions.care import log_entry
from collection.care.actions.record import Edit, open_records, recorded
from collection.care.queries.record import recorded_values
from collection.cars.actions.batteries import fit_battery, save_battery
from collection.cars.actions.vehicles import save_vehicle
from collection.cars.record_words import record_lines
from collection.chain.canonical import canonical, read
from collection.chain.verify import verify
from collection.history.queries.history import standing, stays, whole_log
from collection.models import Battery, Fluid, Link, RecordEntry, Tyre, Vehicle
from collection.models.append_only import UNIQUE, unguard
from collection.proof.actions import export_history
from collection.web.units import edge
from tests.barn import TODAY, make_car
from tests.logbook import NOON, ago

METRIC = edge("metric")


@pytest.fixture(autouse=True)
def _today(settings, tmp_path):
    settings.DATA_DIR = tmp_path
    with time_machine.travel(NOON, tick=False):
        yield


@pytest.fixture
def opened(car, keeper):
    open_records([car], Edit(keeper, NOON - timedelta(days=200)))
    return Vehicle.objects.get(pk=car.pk)


def save(car, by, *, since=None, corrects=False, basis="", days_ago=0, **values):
    for name, value in values.items():
        setattr(car, name, value)
    edit = Edit(by, NOON - timedelta(days=days_ago), since=since, corrects=corrects, basis=basis)
    save_vehicle(vehicle=car, edit=edit, today=TODAY)
    return RecordEntry.objects.filter(vehicle=car).last()


def sound(car):
    verdict = verify(export_history(car, now=NOON))
    return verdict.faults == [] and bool(verdict.history["record"])


# what an entry says


def test_a_save_is_one_entry_with_old_and_new_value_day_author_and_basis(opened, keeper, bays):
    entry = save(opened, keeper, bay=bays[1], regime="preserved", since=ago(22), basis="document")
    assert entry.facts["bay"] == {
        "was": bays[0].pk,
        "was_label": str(bays[0]),
        "now": bays[1].pk,
        "now_label": str(bays[1]),
        "since": str(ago(22)),
    }
    assert entry.facts["regime"] == {"was": "exercised", "now": "preserved", "since": str(ago(22))}
    assert (entry.by, entry.recorded_at, entry.basis, entry.opening) == (keeper, NOON, "document", False)
    assert opened.record_entries.count() == 2
    assert sound(opened)


def test_a_new_car_opens_its_record_and_a_save_of_nothing_writes_nothing(barn, neighbour_car, keeper, bays):
    made = Vehicle(organisation=barn, owner=neighbour_car.owner, marque="Ost", model="Two", regime="dormant")
    save(made, keeper)
    [entry] = made.record_entries.all()
    assert entry.opening
    assert {name: fact["now"] for name, fact in entry.facts.items()} == recorded_values([made.pk])[made.pk]
    save(made, keeper)
    assert made.record_entries.count() == 1


def test_a_field_with_a_day_of_its_own_counts_from_that(opened, keeper):
    battery = Battery(
        vehicle=opened, chemistry="agm", volts=12, installed_on=ago(40), maintainer_since=ago(30)
    )
    save_battery(battery=battery, edit=Edit(keeper, NOON), today=TODAY)
    facts = opened.record_entries.last().facts
    assert facts[f"battery.{battery.pk}.maintainer_since"]["since"] == str(ago(30))
    assert facts[f"battery.{battery.pk}.installed_on"]["since"] == str(ago(40))
    assert facts[f"battery.{battery.pk}.volts"]["since"] == str(TODAY)
    assert sound(opened)


def test_another_battery_takes_out_the_one_before_in_the_same_entry(opened, keeper):
    old = Battery.objects.create(vehicle=opened, chemistry="agm")
    open_records([opened], Edit(keeper, NOON - timedelta(days=100)))
    new = Battery(vehicle=opened, chemistry="gel", installed_on=ago(3))
    before = opened.record_entries.count()
    fit_battery(battery=new, edit=Edit(keeper, NOON), today=TODAY)
    assert opened.record_entries.count() == before + 1
    facts = opened.record_entries.last().facts
    assert facts[f"battery.{old.pk}.removed_on"] == {"was": None, "now": str(ago(3)), "since": str(ago(3))}
    assert facts[f"battery.{new.pk}.chemistry"]["now"] == "gel"


def test_a_correction_points_at_what_it_corrects_and_takes_its_place(opened, keeper, bays):
    first = save(opened, keeper, bay=bays[1], since=ago(50), days_ago=50)
    entry = save(opened, keeper, bay=bays[2], corrects=True)
    assert (entry.facts["bay"]["corrects"], entry.facts["bay"]["since"]) == (str(first.pk), str(ago(50)))
    stood = stays(opened, standing(whole_log(opened)))
    assert [(stay.since, stay.place) for stay in stood] == [
        (opened.stored_since, str(bays[0])),
        (ago(50), str(bays[2])),
    ]
    assert sound(opened)


@pytest.mark.parametrize(
    ("values", "since", "message"),
    [
        ({"regime": "preserved"}, TODAY + timedelta(days=1), "in the future"),
        ({"on_stands": True}, date(1950, 1, 1), "before the car was built (1962)"),
        ({"bay": 1}, ago(400), "in storage here since"),
    ],
)
def test_a_day_that_cannot_be_is_refused_at_its_field_and_nothing_is_stored(
    opened, keeper, bays, values, since, message
):
    values = {name: bays[value] if name == "bay" else value for name, value in values.items()}
    before = recorded_values([opened.pk])
    with pytest.raises(ValidationError) as fault:
        save(opened, keeper, since=since, **values)
    assert message in fault.value.message_dict["since"][0]
    assert recorded_values([opened.pk]) == before
    assert opened.record_entries.count() == 1


def moved(car, by, to, days_ago):
    done = NOON - timedelta(days=days_ago)
    details = {"wheels_only": False, "to_bay": to.pk}
    log_entry(
        vehicle=Vehicle.objects.get(pk=car.pk),
        kind="moved",
        done_at=done,
        by=by,
        idempotency_key=f"move-{days_ago}",
        now=NOON,
        details=details,
    )
    return Vehicle.objects.get(pk=car.pk)


def test_a_bay_of_before_the_last_logged_move_is_refused_and_a_later_one_has_the_last_word(
    opened, keeper, bays
):
    car = moved(opened, keeper, bays[1], 10)
    with pytest.raises(ValidationError) as fault:
        save(car, keeper, bay=bays[2], since=ago(20))
    assert "correct that move" in fault.value.message_dict["since"][0]
    with pytest.raises(ValidationError) as fault:
        save(car, keeper, bay=bays[2], corrects=True)
    assert "correct that move in the log" in fault.value.message_dict["corrects"][0]
    save(car, keeper, bay=bays[2], since=ago(5))
    car = moved(opened, keeper, bays[1], 7)  # logged late: the record has been told otherwise since
    assert car.bay == bays[2]
    assert [(stay.since, stay.place) for stay in stays(car, standing(whole_log(car)))][-2:] == [
        (ago(7), str(bays[1])),
        (ago(5), str(bays[2])),
    ]
    assert sound(car)


def test_rows_and_entry_are_stored_together_or_not_at_all(opened, keeper, monkeypatch):
    def breaks(*_, **__):
        raise RuntimeError("the disk is full")

    monkeypatch.setattr(act, "append_links", breaks)
    with pytest.raises(RuntimeError):
        save(opened, keeper, engine="another")
    opened.refresh_from_db()
    assert opened.engine == ""
    assert opened.record_entries.count() == 1


def test_a_car_that_was_never_written_down_is_so_before_it_is_changed(car, keeper):
    save(car, keeper, engine="another")
    first, second = car.record_entries.all()
    assert (first.opening, first.by, "engine" in first.facts) == (True, None, False)
    assert second.facts["engine"] == {"was": None, "now": "another", "since": str(TODAY)}


# the page


def sent(car, **changed):
    return {
        "owner": car.owner_id,
        "marque": car.marque,
        "model": car.model,
        "year": car.year,
        "regime": car.regime,
        "bay": car.bay_id,
        "system_volts": 12,
        "tank_litres": "45",
        "fuel_system": car.fuel_system,
        "stored_since": str(car.stored_since),
    } | changed


def test_the_page_asks_since_when_and_says_in_words_what_was_written(client_as, keeper, opened, bays):
    client, url = client_as(keeper), reverse("car_edit", args=[opened.pk, "car"])
    assert f'value="{TODAY}"' in str(client.get(url).context["since"]["since"])
    late = client.post(url, sent(opened, bay=bays[1].pk, since=str(TODAY + timedelta(days=2))))
    assert "in the future" in late.context["since"].errors["since"][0]
    assert (
        client.post(url, sent(opened, bay=bays[1].pk, since="2026-11-03", basis="owner")).status_code == 302
    )
    words = f"bay changed from {bays[0]} to {bays[1]}, since 3 Nov 2026"
    assert f"Record: {words}" in client.get(reverse("car", args=[opened.pk])).content.decode()
    assert f"B{words[1:]}" in client.get(reverse("history", args=[opened.pk])).content.decode()
    [_, line] = record_lines(opened, METRIC)
    assert (line.changes, line.by, line.basis) == ((words,), "Keeper", "The owner's word")


def test_every_field_of_a_record_is_told_in_words_without_a_code(opened, keeper):
    with recorded(opened, Edit(keeper, NOON)):
        opened.on_stands, opened.tank_litres = True, 50
        opened.save()
        Fluid.objects.create(vehicle=opened, kind="coolant", type="eg_hybrid", changed_on=ago(90))
        Tyre.objects.create(vehicle=opened, position="front_left", placard_kpa=180)
        opened.last_uses.create(event="road_use", on=ago(300), basis="owner")
    text = " | ".join(record_lines(opened, METRIC)[-1].changes)
    assert "on stands changed from no to yes, since 25 Nov 2026" in text
    assert "tank changed from 45 litres to 50 litres" in text
    assert "front left tyre: placard pressure written down: 1.8 bar" in text
    assert "last road use: on written down: 29 Jan 2026" in text
    assert "coolant: type written down: ethylene glycol" in text
    assert "eg_hybrid" not in text
    assert "_" not in text


# proof


@pytest.fixture
def unguarded(opened):
    with connection.cursor() as cursor:
        unguard(SimpleNamespace(connection=connection, execute=lambda sql, _: cursor.execute(sql)), UNIQUE)
    return opened


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"stored_since": date(2020, 1, 1)}, "stored since: 2020-01-01. Its entries say: 2026-03-01."),
        ({"bay": None}, "bay: empty."),
        ({"on_stands": True}, "on stands: yes. Its entries say: no."),
        ({"chassis_number": "X1"}, "chassis number: X1. Its entries say: empty."),
        ({"regime": "dormant"}, "regime: dormant. Its entries say: exercised."),
        ({"left_on": date(2026, 11, 1)}, "left on: 2026-11-01."),
    ],
)
def test_a_row_that_was_changed_straight_in_the_database_is_found_and_named(unguarded, change, message):
    Vehicle.objects.filter(pk=unguarded.pk).update(**change)
    faults = verify(export_history(Vehicle.objects.get(pk=unguarded.pk), now=NOON)).faults
    named = ["identity"] if "chassis_number" in change else []  # by the links too, which say which car it was
    assert [fault.kind for fault in faults] == ["record", *named]
    assert message in faults[0].text


def test_a_part_that_was_changed_put_in_or_taken_out_is_found(unguarded, keeper):
    tyre = Tyre.objects.create(vehicle=unguarded, position="front_left", date_code="1020")
    faults = verify(export_history(unguarded, now=NOON)).faults
    assert "tyre, front left, date code: 1020. Its entries say: empty." in faults[0].text
    open_records([unguarded], Edit(keeper, NOON))
    assert sound(unguarded)
    tyre.delete()
    assert [fault.kind for fault in verify(export_history(unguarded, now=NOON)).faults] == ["record"]


@pytest.mark.parametrize(
    "change",
    [
        {"facts": {"regime": {"was": None, "now": "dormant", "since": None}}},
        {"recorded_at": NOON - timedelta(days=900)},
        {"opening": False},
        {"basis": "document"},
        {"by": None},
    ],
)
def test_an_entry_of_the_record_that_was_changed_is_found(unguarded, change):
    RecordEntry.objects.filter(vehicle=unguarded).update(**change)
    kinds = {fault.kind for fault in verify(export_history(unguarded, now=NOON)).faults}
    assert "edited" in kinds


def test_an_entry_of_the_record_that_was_taken_out_is_missed(unguarded, keeper):
    save(unguarded, keeper, engine="another")
    link = Link.objects.get(record=unguarded.record_entries.last())
    RecordEntry.objects.filter(link=link)._raw_delete("default")
    assert "deleted" in {fault.kind for fault in verify(export_history(unguarded, now=NOON)).faults}


def test_notes_may_be_left_out_of_a_file_and_the_rest_still_verifies(client_as, keeper, opened):
    log_entry(
        vehicle=opened,
        kind="note",
        done_at=NOON,
        by=keeper,
        idempotency_key="a",
        now=NOON,
        note="The key hangs behind the clock.",
    )
    url = reverse("proof", args=[opened.pk])
    whole, without = (
        client_as(keeper).get(url + query).content for query in ("?as=file", "?as=file&without=notes")
    )
    assert b"behind the clock" in whole
    assert b"behind the clock" not in without
    verdict = verify(without)
    assert verdict.faults == []
    assert any("Left out of entry 2, whose digests still hold: note." in remark for remark in verdict.remarks)
    filled = read(without)
    filled["entries"][-1]["note"] = "Something else."
    assert "edited" in {fault.kind for fault in verify(canonical(filled)).faults}


def test_a_car_that_was_handed_over_is_not_edited_any_more(opened, keeper, manager):
    opened.handovers.create(organisation=opened.organisation, by=manager, at=NOON, to="Tarn", digest="0" * 64)
    Vehicle.objects.filter(pk=opened.pk).update(left_on=TODAY)
    opened.refresh_from_db()
    with pytest.raises(ValidationError, match="handed over"):
        save(opened, keeper, engine="another")


def test_two_cars_keep_their_records_apart(opened, barn, keeper):
    other = make_car(barn, opened.owner, model="Ten")
    open_records([other], Edit(keeper, NOON))
    save(opened, keeper, engine="another")
    assert other.record_entries.count() == 1
    assert sound(other)
