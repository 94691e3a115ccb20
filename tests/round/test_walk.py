"""A row of bays walked at once: all well is one entry a car, exceptions stand at theirs."""

import io
import json
import re
import uuid
from datetime import UTC, datetime, timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from PIL import Image

from collection.care.actions.care import log_entry
from collection.care.queries.care import open_findings, open_tags
from collection.models import CareKind, Clash, DutyRow, Entry, Reading
from collection.models.care import effective
from tests.barn import make_car
from tests.logbook import ago, ahead, give_duties

NOW = datetime(2026, 11, 25, 10, 0, tzinfo=UTC)


@pytest.fixture(autouse=True)
def clock(time_machine):
    time_machine.move_to(NOW, tick=False)
    return time_machine


@pytest.fixture
def row(barn, owner, bays, car, neighbour_car):
    """Cars of the row in which the first stands, in the order of their places."""
    building = car.bay.building
    for bay in building.bays.filter(vehicles=None, row=car.bay.row)[:1]:
        make_car(barn, car.owner, bay)
    cars = list(barn.vehicles.filter(bay__building=building, bay__row=car.bay.row).order_by("bay__place"))
    for each in cars:
        give_duties(each, inspection={"window": (ago(9), ago(2), ahead(5))})
    assert len(cars) >= 2
    return cars


def photograph():
    made = io.BytesIO()
    Image.new("RGB", (40, 30), "brown").save(made, "JPEG")
    return made.getvalue()


def row_of(cars, work="inspect", key=None, **more):
    """A row as the phone keeps it; more: ``_3_words`` is the field of the car with key 3."""
    fields = {"work": [work], "cars": [str(car.pk) for car in cars]}
    fields |= {name.strip("_").replace("_", "-", 1): [text] for name, text in more.items()}
    return {
        "key": key or str(uuid.uuid4()),
        "car": None,
        "kind": "row",
        "duty": "inspection",
        "units": "metric",
        "fields": fields,
        "done_at": (NOW - timedelta(minutes=20)).isoformat(),
        "seen": (NOW - timedelta(hours=1)).isoformat(),
    }


@pytest.fixture
def phone(client_as, keeper, barn):
    """Sends one row; with files as a browser sends those."""

    def send(entry, person=keeper, **files):
        sent = {
            "sent_at": NOW.isoformat(),
            "person": person.pk,
            "organisation": barn.pk,
            "entries": [entry],
        }
        url, client = reverse("worksheet_entries"), client_as(person)
        if files:
            parts = {
                f"{entry['key']}/{name.strip('_').replace('_', '-', 1)}": SimpleUploadedFile("p.jpg", data)
                for name, data in files.items()
            }
            answer = client.post(url, {"sent": json.dumps(sent)} | parts)
        else:
            answer = client.post(url, json.dumps(sent), content_type="application/json")
        assert answer.status_code == 200, answer.content
        return answer.json()["outcomes"][0]

    return send


def inspections(car):
    return effective(Entry.objects.filter(vehicle=car, kind=CareKind.INSPECTED))


def test_all_well_is_one_inspection_a_car_with_the_time_of_the_walk(phone, row, keeper):
    assert phone(row_of(row))["state"] == "stored"
    for car in row:
        (entry,) = inspections(car)
        assert (entry.details, entry.by) == ({"ok": True}, keeper)
        assert (entry.done_at, entry.recorded_at) == (NOW - timedelta(minutes=20), NOW)
        assert DutyRow.objects.get(vehicle=car, duty="inspection").due > NOW.date()


def test_a_row_sent_ten_times_is_stored_once(phone, row):
    sent = row_of(row, **{f"_{row[0].pk}_found": "Oil leak", f"_{row[1].pk}_rested_volts": "12.4"})
    for _ in range(10):
        assert phone(sent)["state"] == "stored"
    assert Entry.objects.count() == len(row) + 2
    assert Reading.objects.count() == 1


def test_exceptions_stand_at_their_cars_and_a_danger_puts_the_tag_on(phone, row):
    first, second = row[:2]
    sent = row_of(row, **{f"_{first.pk}_found": "Smell of petrol", f"_{first.pk}_words": "under the tank"})
    assert phone(sent, **{f"_{first.pk}_photographs": photograph()})["state"] == "stored"
    (entry,) = inspections(first)
    assert entry.details == {"ok": False, "found": ["Smell of petrol"]}
    (finding,) = open_findings([first])
    assert finding.note == "Smell of petrol: under the tank"
    assert finding.attachments.count() == 1
    assert [tag.details["tag"] for tag in open_tags([first])] == ["danger"]
    assert inspections(second).get().details == {"ok": True}
    assert not open_tags([second])


def test_a_car_that_was_not_looked_at_is_not_said_to_be(phone, row):
    sent = row_of(row, **{f"_{row[0].pk}_without": "Locked, no key"})
    assert phone(sent)["state"] == "stored"
    assert not inspections(row[0]).exists()
    assert Entry.objects.get(vehicle=row[0]).details == {"duty": "inspection", "reason": "Locked, no key"}
    assert inspections(row[1]).exists()


def test_what_is_at_fault_at_one_car_holds_up_no_other_and_is_mended_under_the_same_key(phone, row):
    key = str(uuid.uuid4())
    bad = phone(row_of(row, key=key, **{f"_{row[0].pk}_rested_volts": "900"}))
    assert bad["state"] == "refused"
    assert str(row[0]) in bad["says"]
    assert "900 is out of range: give" in bad["says"]
    assert not inspections(row[0]).exists()
    assert inspections(row[1]).count() == 1
    assert phone(row_of(row, key=key, **{f"_{row[0].pk}_rested_volts": "12.5"}))["state"] == "stored"
    assert [inspections(car).count() for car in row] == [1] * len(row)


def test_a_car_that_somebody_else_looked_at_meanwhile_is_told_and_its_finding_is_kept(phone, row, manager):
    log_entry(
        vehicle=row[0],
        kind=CareKind.INSPECTED,
        details={"ok": True},
        done_at=NOW - timedelta(minutes=5),
        by=manager,
        now=NOW,
        idempotency_key="other",
    )
    answer = phone(row_of(row, **{f"_{row[0].pk}_found": "Oil leak"}))
    assert answer["state"] == "clash"
    assert str(manager) in answer["says"]
    assert inspections(row[0]).count() == 1
    assert Clash.objects.count() == 1
    assert open_findings([row[0]]).count() == 1


def test_charged_all_is_a_full_charge_of_each_but_those_left_out(phone, row):
    sent = row_of(
        row,
        work="charge",
        **{f"_{row[0].pk}_without": "Equipment missing or faulty", f"_{row[1].pk}_rested_volts": "12.31"},
    )
    assert phone(sent)["state"] == "stored"
    charges = Entry.objects.filter(kind=CareKind.CHARGE)
    assert {entry.vehicle_id for entry in charges} == {car.pk for car in row[1:]}
    assert all(entry.details == {"completed": True} for entry in charges)
    assert Reading.objects.get().entry.vehicle == row[1]


@pytest.mark.parametrize(
    "fields", [{"work": ["dig"]}, {"cars": []}, {"cars": ["9" * 30]}, {"cars": ["1", "1"]}, {"cars": ["-1"]}]
)
def test_a_row_that_is_none_is_refused_whole(phone, row, fields):
    sent = row_of(row)
    sent["fields"] |= fields
    assert phone(sent)["state"] == "refused"
    assert not Entry.objects.exists()


def test_a_row_with_a_car_out_of_reach_is_refused_whole(phone, row, foreign_car):
    assert phone(row_of([*row, foreign_car]))["state"] == "refused"
    assert not Entry.objects.exists()


def test_the_page_ticks_nothing_and_sends_the_row_without_a_script_too(client_as, keeper, row):
    client = client_as(keeper)
    url = f"{reverse('walk', args=[row[0].bay.building_id])}?row={row[0].bay.row}"
    page = client.get(url)
    body = page.content.decode()
    assert not re.search(r"<input[^>]*\bchecked\b", body)
    assert f"All well: {len(row)} cars" in body
    sent = {"key": page.context["key"], "work": "inspect", "cars": [car.pk for car in row]}
    sent |= {f"{row[0].pk}-found": "Damp or mould", "seen": page.context["seen"].isoformat()}
    for _ in range(2):  # sent twice by an impatient hand
        assert client.post(url, sent).status_code == 302
    assert [inspections(car).count() for car in row] == [1] * len(row)


def test_a_building_asks_to_charge_what_is_due_and_tells_what_is_held(client_as, keeper, row):
    charges = DutyRow.objects.filter(duty="charge")
    charges.filter(vehicle=row[0]).update(early=ago(9), due=ago(2), late=ahead(5))
    charges.filter(vehicle=row[1]).update(early=ago(9), due=ago(2), late=ahead(5), hold="battery removed")
    page = client_as(keeper).get(reverse("walk", args=[row[0].bay.building_id]), {"work": "charge"})
    assert [at.vehicle for at, _ in page.context["lines"]] == [row[0]]
    assert "battery removed" in page.content.decode()
    assert "Hydrogen and acid." in page.content.decode()


def test_a_photograph_goes_up_with_any_entry_of_the_phone(phone, car):
    sent = {
        "key": str(uuid.uuid4()),
        "car": car.pk,
        "kind": "found",
        "units": "metric",
        "fields": {"found": ["Oil leak"]},
        "done_at": NOW.isoformat(),
    }
    assert phone(sent, attachments=photograph())["state"] == "stored"
    assert open_findings([car]).get().attachments.count() == 1
    assert phone(sent, attachments=photograph())["state"] == "before"
    bad = sent | {"key": str(uuid.uuid4())}
    refused = phone(bad, attachments=b"no photograph")
    assert refused["state"] == "refused"
    assert "Photographs" in refused["says"]


def test_a_building_without_a_row_named_opens_the_first_row_in_which_a_car_stands(client_as, keeper, row):
    page = client_as(keeper).get(reverse("walk", args=[row[0].bay.building_id]))
    assert [at.vehicle for at, _ in page.context["lines"]] == row
