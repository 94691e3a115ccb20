"""The phone's queue: sent whenever there is a signal, stored once, told what became of each entry."""

import json
import re
import uuid
from datetime import UTC, datetime, timedelta

import pytest
from django.contrib.staticfiles import finders
from django.test import Client
from django.urls import reverse
from PIL import Image

from collection.care.queries.care import open_findings
from collection.models import Clash, DutyRow, Entry, Reading
from collection.round.views.offline import ASSETS
from tests.logbook import ago, ahead, give_duties, spoil

NOW = datetime(2026, 11, 25, 10, 0, tzinfo=UTC)
DAY = timedelta(days=1)


@pytest.fixture(autouse=True)
def clock(time_machine):
    time_machine.move_to(NOW, tick=False)
    return time_machine


@pytest.fixture
def due_car(car):
    give_duties(
        car, charge={"window": (ago(40), ago(20), ago(5))}, tyre_move={"window": (ago(9), ago(2), ahead(9))}
    )
    return car


@pytest.fixture
def phone(client_as, keeper, barn):
    """Sends entries as a person's phone does; its clock may run ahead."""

    def send(*entries, person=keeper, ahead_by=timedelta(), client=None, **envelope):
        sent = {
            "sent_at": (NOW + ahead_by).isoformat(),
            "person": person.pk,
            "organisation": barn.pk,
            "entries": entries,
        } | envelope
        url = reverse("worksheet_entries")
        return (client or client_as(person)).post(url, json.dumps(sent), content_type="application/json")

    return send


def charge(car, **changed):
    return {
        "key": str(uuid.uuid4()),
        "car": car.pk,
        "kind": "charge",
        "duty": "charge",
        "units": "metric",
        "fields": {"completed": ["on"], "rested_volts": ["12.31"]},
        "done_at": (NOW - timedelta(minutes=20)).isoformat(),
        "seen": (NOW - timedelta(hours=1)).isoformat(),
    } | changed


def outcomes(answer):
    assert answer.status_code == 200, answer.content
    return [outcome["state"] for outcome in answer.json()["outcomes"]]


def test_an_entry_made_without_a_signal_is_stored_with_its_own_time(phone, due_car, keeper):
    sent = charge(due_car)
    assert outcomes(phone(sent)) == ["stored"]
    entry = Entry.objects.get()
    assert (entry.by, entry.idempotency_key) == (keeper, sent["key"])
    assert (entry.done_at, entry.recorded_at) == (NOW - timedelta(minutes=20), NOW)
    assert entry.details == {"completed": True}
    assert Reading.objects.get().value == 12.31
    assert DutyRow.objects.get(vehicle=due_car, duty="charge").due > NOW.date()


def test_a_queue_replayed_ten_times_is_one_set_of_entries(phone, due_car, neighbour_car, bays):
    give_duties(neighbour_car)
    moved = charge(
        due_car,
        kind="moved",
        duty="tyre_move",
        fields={"place": [str(bays[2].pk)]},
        done_at=(NOW - timedelta(minutes=9)).isoformat(),
    )
    found = charge(neighbour_car, kind="found", duty="", fields={"found": ["Flat tyre"], "words": [""]})
    queue = [charge(due_car), moved, found]
    assert outcomes(phone(*queue)) == ["stored", "stored", "stored"]
    for _ in range(9):
        assert outcomes(phone(*queue)) == ["before", "before", "before"]
    assert sorted(Entry.objects.values_list("kind", flat=True)) == ["charge", "moved", "note", "tag_opened"]
    due_car.refresh_from_db()
    assert due_car.bay == bays[2]


def test_a_replay_is_answered_even_where_the_car_has_changed_since(phone, due_car, neighbour_car, bays):
    """The bay it was moved to is another's by now: the entry stands as it stood."""
    moved = charge(due_car, kind="moved", duty="tyre_move", fields={"place": [str(bays[2].pk)]})
    phone(moved)
    due_car.refresh_from_db()
    due_car.bay = None
    due_car.save()
    neighbour_car.bay = bays[2]
    neighbour_car.save()
    assert outcomes(phone(moved)) == ["before"]


@pytest.mark.parametrize("skew", [DAY, -DAY], ids=["ahead", "behind"])
def test_a_phone_whose_clock_is_wrong_by_a_day_is_taken_at_its_word_and_flagged(
    phone, client_as, keeper, due_car, skew
):
    claimed = NOW - timedelta(minutes=20) + skew
    sent = charge(due_car, done_at=claimed.isoformat())
    assert outcomes(phone(sent, ahead_by=skew)) == ["stored"]
    entry = Entry.objects.get()
    assert entry.done_at == claimed
    assert entry.details["claim_skew_s"] == skew.total_seconds()
    page = client_as(keeper).get(reverse("car", args=[due_car.pk])).content.decode()
    assert f"by a clock that ran 1 day {'ahead' if skew > timedelta() else 'behind'}" in page
    assert outcomes(phone(sent, ahead_by=skew + timedelta(seconds=3))) == ["before"]
    assert Entry.objects.count() == 1


def test_a_clock_set_right_before_sending_still_shows_in_a_time_yet_to_come(phone, due_car):
    assert outcomes(phone(charge(due_car, done_at=(NOW + DAY).isoformat()))) == ["stored"]
    assert Entry.objects.get().details["claim_skew_s"] == DAY.total_seconds()


def test_an_entry_claimed_for_tomorrow_counts_today(phone, due_car):
    """A danger found by a phone whose clock runs ahead holds the car at once."""
    found = charge(
        due_car,
        kind="found",
        duty="",
        done_at=(NOW + DAY).isoformat(),
        fields={"found": ["Petrol leak"], "words": [""]},
    )
    assert outcomes(phone(found, ahead_by=DAY)) == ["stored"]
    assert "danger" in DutyRow.objects.get(vehicle=due_car, duty="run_up").hold


def test_a_clock_a_little_off_is_no_flag(phone, due_car):
    phone(charge(due_car), ahead_by=timedelta(minutes=4))
    assert "claim_skew_s" not in Entry.objects.get().details


def test_numbers_are_read_in_the_units_in_which_the_page_asked(phone, due_car, keeper):
    keeper.units = "metric"
    keeper.save()
    sent = charge(
        due_car,
        kind="tyre_pressures",
        duty="tyre_pressure",
        units="british",
        fields={"tyre_pressure_front_left": ["30"]},
    )
    assert outcomes(phone(sent)) == ["stored"]
    assert Reading.objects.get().value == pytest.approx(206.84, abs=0.01)  # 30 psi


def test_what_is_refused_is_told_with_its_field_and_the_others_go_up(phone, due_car):
    wrong = charge(due_car, fields={"completed": ["on"], "rested_volts": ["125"]})
    answer = phone(wrong, charge(due_car))
    assert outcomes(answer) == ["refused", "stored"]
    says = answer.json()["outcomes"][0]["says"]
    assert "Rested volts" in says
    assert "out of range" in says


def test_a_record_that_the_forecast_cannot_read_does_not_hold_up_the_queue(phone, due_car, neighbour_car):
    give_duties(neighbour_car)
    spoil(due_car)
    answer = phone(charge(due_car), charge(neighbour_car))
    assert outcomes(answer)[1] == "stored"
    assert outcomes(answer)[0] == "failed"
    assert not Entry.objects.filter(vehicle=due_car).exists(), "half an entry is none"


def test_the_second_who_finishes_a_task_is_told_who_was_first_and_may_log_theirs_as_well(
    phone, client_as, due_car, manager, clock
):
    phone(charge(due_car))
    clock.move_to(NOW + timedelta(minutes=2), tick=False)
    second = charge(due_car)
    for _ in range(3):
        answer = phone(second, person=manager)
        assert outcomes(answer) == ["clash"]
        assert "Keeper had logged it" in answer.json()["outcomes"][0]["says"]
    assert (Entry.objects.count(), Clash.objects.count()) == (1, 1)
    assert outcomes(phone(second | {"seen": None}, person=manager)) == ["stored"]
    assert Entry.objects.count() == 2


def test_what_one_person_made_never_goes_up_as_anothers(phone, due_car, manager, client_as, keeper):
    answer = phone(charge(due_car), person=keeper, client=client_as(manager))
    assert answer.status_code == 409
    assert not Entry.objects.exists()


def test_findings_are_seen_to_by_phone(phone, due_car):
    phone(charge(due_car, kind="found", duty="", fields={"found": ["Damage"], "words": ["mirror"]}))
    (finding,) = open_findings([due_car])
    done = charge(due_car, kind="seen_to", duty="", finding=str(finding.pk), fields={"words": ["glued"]})
    assert outcomes(phone(done)) == ["stored"]
    assert not open_findings([due_car]).exists()
    stranger = charge(due_car, kind="seen_to", duty="", finding=str(uuid.uuid4()), fields={"words": [""]})
    assert outcomes(phone(stranger)) == ["refused"]


def test_a_key_stands_for_one_entry(phone, due_car):
    sent = charge(due_car)
    phone(sent)
    assert outcomes(phone(sent | {"kind": "inspected", "fields": {}})) == ["refused"]
    assert outcomes(phone(sent | {"done_at": (NOW - DAY).isoformat()})) == ["refused"]


def test_cars_out_of_reach_do_not_exist(phone, foreign_car, due_car):
    assert outcomes(phone(charge(foreign_car), charge(due_car) | {"car": 987654})) == ["refused", "refused"]
    assert not Entry.objects.exists()


@pytest.mark.parametrize(
    "entry",
    [
        None,
        7,
        "text",
        [],
        {},
        {"key": "short"},
        {"key": 5, "car": "x", "fields": []},
        {"key": "long-enough", "car": 10**40, "kind": "charge", "units": "metric", "fields": {}},
        {"key": "long-enough", "car": 1, "kind": "nothing", "units": "cubits", "fields": {"a": {"b": 1}}},
        {"key": "long-enough", "car": 1, "kind": "charge", "units": "metric", "fields": {"a": "x" * 5000}},
        {"key": "nul\0-in-it", "car": 1, "kind": "charge", "units": "metric", "fields": {}},
    ],
)
def test_nonsense_is_refused_in_words(phone, due_car, entry):
    answer = phone(entry, charge(due_car))
    assert outcomes(answer) == ["refused", "stored"]
    assert answer.json()["outcomes"][0]["says"]


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        ({"done_at": "yesterday"}, "done_at"),
        ({"done_at": "0001-01-01T00:00:00Z"}, "before the first motor car"),
        ({"seen": "soon"}, "seen"),
        ({"fields": {"rested_volts": ["12\x000"], "completed": ["on"]}}, "number"),
        ({"kind": "seen_to", "duty": ""}, "which finding"),
    ],
)
def test_a_bad_envelope_names_what_is_wrong(phone, due_car, changed, says):
    answer = phone(charge(due_car, **changed))
    assert outcomes(answer) == ["refused"]
    assert says in answer.json()["outcomes"][0]["says"]


@pytest.mark.parametrize(
    "body",
    [
        b"",
        b"{",
        b"[]",
        b"null",
        b'{"sent_at": 5, "entries": []}',
        b'{"sent_at": "now", "entries": []}',
        b'{"sent_at": "2026-11-25T10:00:00", "entries": []}',
        b"[" * 100_000,
    ],
)
def test_a_body_that_is_no_queue_is_refused(client_as, keeper, body):
    answer = client_as(keeper).post(reverse("worksheet_entries"), body, content_type="application/json")
    assert answer.status_code == 400


def test_too_many_at_once_are_refused(phone, due_car):
    assert phone(*[charge(due_car) for _ in range(51)]).status_code == 400


def test_the_queue_needs_the_token_that_forms_need(due_car, keeper, barn):
    client = Client(enforce_csrf_checks=True)
    client.force_login(keeper)
    sent = {
        "sent_at": NOW.isoformat(),
        "person": keeper.pk,
        "organisation": barn.pk,
        "entries": [charge(due_car)],
    }
    url = reverse("worksheet_entries")
    assert client.post(url, json.dumps(sent), content_type="application/json").status_code == 403
    token = client.get(reverse("worksheet")).cookies["csrftoken"].value
    answer = client.post(
        url, json.dumps(sent), content_type="application/json", headers={"X-CSRFToken": token}
    )
    assert outcomes(answer) == ["stored"]


def test_owners_log_nothing(phone, due_car, owner):
    assert phone(charge(due_car), person=owner).status_code == 403


# --- the application itself ----------------------------------------------------------------------


def test_the_service_worker_serves_the_worksheet_only_and_names_every_asset(client):
    answer = client.get(reverse("service_worker"))
    assert answer["Content-Type"].startswith("text/javascript")
    facts = json.loads(answer.content.decode().split("self.FACTS = ")[1].split(";\n")[0])
    for url in facts["assets"]:
        assert finders.find(url.removeprefix("/static/")), url
    assert facts["offline"] == reverse("worksheet_offline")
    assert reverse("service_worker").startswith(reverse("worksheet")), "its reach is its own folder"


def test_every_script_of_the_worksheet_is_on_the_phone(client_as, keeper, due_car):
    client = client_as(keeper)
    for url in (
        reverse("worksheet"),
        reverse("worksheet_car", args=[due_car.pk]),
        reverse("worksheet_faults", args=[due_car.pk]),
        reverse("worksheet_scan"),
        reverse("worksheet_offline"),
    ):
        page = client.get(url).content.decode()
        used = re.findall(r'(?:src|href)="/static/([^"]+)"', page)
        assert set(used) <= set(ASSETS), url


def test_the_manifest_makes_it_installable(client):
    facts = client.get(reverse("manifest")).json()
    assert facts["scope"] == "/"
    assert facts["start_url"] == reverse("collection")
    assert facts["display"] == "standalone"
    assert {(icon["sizes"], icon["purpose"]) for icon in facts["icons"]} == {
        (sizes, purpose) for sizes in ("192x192", "512x512") for purpose in ("any", "maskable")
    }
    for icon in facts["icons"]:
        with Image.open(finders.find(icon["src"].removeprefix("/static/"))) as picture:
            assert f"{picture.width}x{picture.height}" == icon["sizes"]
            ink = picture.convert("RGB").getpixel((0, 0))
            assert ink == (0x14, 0x56, 0x6B), "the ground reaches the edge, so that any mask may cut it"
    assert [each["url"] for each in facts["shortcuts"]] == [reverse("worksheet"), reverse("worksheet_scan")]


@pytest.mark.parametrize("name", ["collection", "due", "worksheet", "worksheet_scan", "places", "labels"])
def test_every_page_of_a_person_who_signed_in_can_be_installed_from(client_as, keeper, due_car, name):
    page = client_as(keeper).get(reverse(name)).content.decode()
    assert page.count(f'<link rel="manifest" href="{reverse("manifest")}">') == 1


def test_only_pages_that_scan_labels_may_ask_for_the_camera(client_as, keeper, due_car):
    client = client_as(keeper)
    car, foreign = (
        reverse("worksheet_car", args=[due_car.pk]),
        reverse("worksheet_car", args=[due_car.pk + 999]),
    )
    for url in (reverse("worksheet"), reverse("worksheet_scan"), car, foreign, "/tea/"):
        answer = client.get(url)
        scans = 'id="scanner"' in answer.content.decode()
        assert scans == (url in (reverse("worksheet"), reverse("worksheet_scan")))
        assert ("camera=(self)" in answer["Permissions-Policy"]) == scans
        assert ("camera=()" in answer["Permissions-Policy"]) != scans
        assert "microphone=()" in answer["Permissions-Policy"]


def test_public_parts_say_nothing_of_anybody(client_as, keeper, due_car):
    client = client_as(keeper)
    for name in ("service_worker", "manifest", "worksheet_offline"):
        page = client.get(reverse(name)).content.decode()
        assert keeper.name not in page
        assert str(due_car) not in page


def test_a_member_of_two_organisations_sends_to_the_one_where_the_entry_was_made(
    phone, due_car, other_barn, keeper, client_as
):
    other_barn.memberships.create(person=keeper, role="staff")
    answer = phone(charge(due_car), organisation=other_barn.pk)
    assert answer.status_code == 409
    assert not Entry.objects.exists()
