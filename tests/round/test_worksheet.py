"""The worksheet on the phone: the round, one car, two taps, something found, labels that lead to it."""

import re
from datetime import UTC, datetime, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from collection.care.actions.care import log_entry
from collection.care.actions.findings import log_finding
from collection.care.findings import FINDINGS
from collection.care.queries.care import open_findings, open_tags
from collection.models import Clash, DutyRow, Entry
from tests.barn import make_car
from tests.logbook import ago, ahead, give_duties

NOW = datetime(2026, 11, 25, 10, 0, tzinfo=UTC)
KEY = "0b0f4a6e-5a0e-4d0c-9a1b-000000000001"


@pytest.fixture(autouse=True)
def clock(time_machine):
    time_machine.move_to(NOW, tick=False)
    return time_machine


@pytest.fixture
def client(client_as, keeper):
    return client_as(keeper)


@pytest.fixture
def due_car(car):
    """Its charge is late, its run-up due this week; oil may be changed on the visit."""
    give_duties(
        car,
        charge={"window": (ago(40), ago(20), ago(5))},
        run_up={"window": (ago(3), ahead(2), ahead(20))},
        engine_oil={"window": (ago(3), ahead(15), ahead(60))},
        brake_fluid={"window": (ago(3), ago(1), ahead(60)), "hold": "not while it is drained"},
    )
    return car


def page_of(client, car):
    return client.get(reverse("worksheet_car", args=[car.pk]))


def text(response):
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", response.content.decode()))


# --- the pages -----------------------------------------------------------------------------------


def test_the_round_leads_to_each_car_with_what_must_be_done_there(client, due_car, neighbour_car):
    give_duties(neighbour_car)
    page = client.get(reverse("worksheet"))
    assert f'href="{reverse("worksheet_car", args=[due_car.pk])}"' in page.content.decode()
    assert "Maintainer charge, act now · Run-up" in text(page)
    assert str(neighbour_car) not in text(page), "nothing is due there this week"


def test_a_car_shows_its_tasks_what_may_wait_and_what_is_held(client, due_car):
    context = page_of(client, due_car).context
    assert {step.task.line.duty for step in context["must"]} == {"charge", "run_up"}
    assert {step.task.line.duty for step in context["may"]} == {"engine_oil"}
    assert [line.duty for line in context["here"].held] == ["brake_fluid"]


def test_cautions_and_the_last_value_stand_at_the_step(client, due_car, keeper):
    log_entry(
        vehicle=due_car,
        kind="run_up",
        done_at=NOW - timedelta(days=30),
        by=keeper,
        now=NOW,
        idempotency_key="earlier",
        details={"minutes": 45, "reached_temperature": True, "driven": True},
    )
    DutyRow.objects.filter(vehicle=due_car).delete()
    give_duties(due_car, run_up={"window": (ago(3), ahead(2), ahead(20))})
    said = text(page_of(client, due_car))
    assert "Carbon monoxide. Run an engine outdoors or with extraction" in said
    assert "Last: 45 min on" in said


def test_a_car_page_asks_the_database_the_same_number_of_times_however_many_tasks(client, car):
    give_duties(car, charge={"window": (ago(9), ago(5), ahead(1))})
    page_of(client, car)
    with CaptureQueriesContext(connection) as few:
        page_of(client, car)
    for duty in ("coolant", "axle_oil", "gearbox_oil", "tyre_pressure", "inspection"):
        DutyRow.objects.filter(vehicle=car, duty=duty).update(early=ago(9), due=ago(5))
    with CaptureQueriesContext(connection) as many:
        page_of(client, car)
    assert len(many) == len(few) < 40


def test_the_round_asks_the_database_no_more_for_twenty_cars_than_for_two(client, barn, car):
    def queries_with(count):
        while barn.vehicles.count() < count:
            give_duties(
                make_car(barn, car.owner, model=f"No {barn.vehicles.count()}"),
                charge={"window": (ago(9), ago(5), ahead(1))},
            )
        with CaptureQueriesContext(connection) as queries:
            client.get(reverse("worksheet"))
        return len(queries)

    give_duties(car)
    client.get(reverse("worksheet"))
    assert queries_with(3) == queries_with(20)


def test_a_car_that_left_has_nothing_to_do(client, due_car):
    due_car.left_on = NOW.date()
    due_car.save()
    page = page_of(client, due_car)
    assert page.context["must"] == []
    assert "left storage" in text(page)


# --- labels lead here ----------------------------------------------------------------------------


def test_a_scanned_bay_opens_the_car_that_stands_there(client, due_car, bays):
    answer = client.get(reverse("worksheet_bay", args=[due_car.bay.pk]))
    assert answer.url == reverse("worksheet_car", args=[due_car.pk])
    assert "No car stands here" in text(client.get(reverse("worksheet_bay", args=[bays[2].pk])))


# --- without a script ----------------------------------------------------------------------------


def test_a_task_is_logged_by_the_form_itself_and_leads_back(client, due_car):
    here = reverse("worksheet_car", args=[due_car.pk])
    sent = {"completed": "on", "key": KEY, "next": here, "seen": NOW.isoformat()}
    answer = client.post(reverse("log_kind", args=[due_car.pk, "charge"]) + "?duty=charge", sent)
    assert answer.url == here
    assert Entry.objects.get().details == {"completed": True}


def test_why_not_is_one_tap_after_the_first(client, due_car):
    url = reverse("log_kind", args=[due_car.pk, "not_done"]) + "?duty=charge"
    client.post(url, {"duty": "charge", "reason": "Weather", "words": "", "key": KEY})
    assert Entry.objects.get().details == {"duty": "charge", "reason": "Weather"}
    assert "Not done (Weather)" in text(page_of(client, due_car)).replace("( ", "(")


# --- something found -----------------------------------------------------------------------------


def find(client, car, found, **words):
    return client.post(reverse("found", args=[car.pk]), {"found": found, "key": KEY} | words)


@pytest.mark.parametrize("finding", FINDINGS, ids=lambda finding: finding.label)
def test_what_is_found_waits_to_be_seen_to_and_a_danger_hangs_a_tag(client, due_car, finding):
    find(client, due_car, finding.label, words="at the left front")
    (note,) = open_findings([due_car])
    assert note.note == f"{finding.label}: at the left front"
    tags = [tag.details["tag"] for tag in open_tags([due_car])]
    assert tags == (["danger"] if finding.is_danger else [])
    assert f"To see to: {finding.label}" in text(page_of(client, due_car))


def test_petrol_brakes_and_tyres_are_dangers():
    dangers = {finding.label for finding in FINDINGS if finding.is_danger}
    assert dangers >= {"Smell of petrol", "Petrol leak", "Brake fluid leak", "Flat tyre", "Mouse nest"}


def test_a_danger_stops_cranking_and_moving(client, car):
    """Through the forecast itself: the duties that start or move the car are held."""
    find(client, car, "Smell of petrol")
    held = dict(DutyRow.objects.filter(vehicle=car).exclude(hold="").values_list("duty", "hold"))
    assert "danger" in held["run_up"]
    assert "not to be moved" in held["tyre_move"]


def test_anything_may_be_called_a_danger_by_who_sees_it(client, due_car):
    find(client, due_car, "Oil leak", danger="on")
    (tag,) = open_tags([due_car])
    assert tag.details == {"tag": "danger", "where": "Oil leak. do not use"}


def test_something_else_needs_words(client, due_car):
    answer = find(client, due_car, "Something else")
    assert answer.status_code == 200
    assert "Say what was found" in text(answer)
    assert not Entry.objects.exists()


def test_a_finding_sent_twice_is_one_note_and_one_tag(client, due_car):
    for _ in range(2):
        find(client, due_car, "Flat tyre")
    assert sorted(Entry.objects.values_list("kind", flat=True)) == ["note", "tag_opened"]


def test_what_was_found_is_seen_to_once_and_its_tag_stays(client, due_car):
    find(client, due_car, "Flat tyre")
    (note,) = open_findings([due_car])
    url = reverse("seen_to", args=[due_car.pk, note.pk])
    client.post(url, {"words": "New valve", "key": "another-key"})
    assert not open_findings([due_car]).exists()
    assert open_tags([due_car]).count() == 1, "a tag comes off by hand, after a look"
    again = client.post(url, {"words": "New valve", "key": "a-third-key"})
    assert again.status_code == 200
    assert Entry.objects.filter(details__has_key="answers").count() == 1


def test_a_finding_that_was_seen_to_is_not_withdrawn_under_its_answer(client, due_car, keeper):
    note = log_finding(
        vehicle=due_car,
        found="Damage",
        words="",
        danger=False,
        done_at=None,
        by=keeper,
        idempotency_key=KEY,
        now=NOW,
    ).entry
    client.post(reverse("seen_to", args=[due_car.pk, note.pk]), {"words": "", "key": "another-key"})
    url = reverse("correct", args=[due_car.pk, note.pk])
    answer = client.post(url, {"withdraw": "yes", "key": "withdraw-key", "note": "slip"})
    assert answer.status_code == 200
    assert not Entry.objects.filter(kind="withdrawn").exists()


def test_a_corrected_finding_still_waits(client, due_car):
    find(client, due_car, "Damage", words="bumper")
    (note,) = open_findings([due_car])
    url = reverse("correct", args=[due_car.pk, note.pk])
    client.post(url, {"note": "Damage: rear bumper", "key": "corrected-key"})
    (waiting,) = open_findings([due_car])
    assert (waiting.note, waiting.corrects) == ("Damage: rear bumper", note)


# --- two people, one task ------------------------------------------------------------------------


def finish(client, car, key, seen=NOW):
    url = reverse("log_kind", args=[car.pk, "charge"]) + "?duty=charge"
    sent = {"completed": "on", "rested_volts": "12.3", "key": key, "seen": seen.isoformat()}
    return client.post(url, sent, follow=True)


def test_two_people_finish_one_task_and_both_are_told_of_the_one_entry(
    client, client_as, manager, due_car, clock
):
    clock.move_to(NOW + timedelta(minutes=5), tick=False)
    assert "logged for" in text(finish(client, due_car, "the-keepers-key"))
    clock.move_to(NOW + timedelta(minutes=6), tick=False)
    other = client_as(manager)
    assert "Keeper had logged it" in text(finish(other, due_car, "the-managers-key"))
    entry = Entry.objects.get(kind="charge")
    assert entry.by.name == "Keeper"
    clash = Clash.objects.get()
    assert clash.said["rested_volts"] == ["12.3"], "what the second had measured is kept"
    assert "Manager also sent it" in text(page_of(client, due_car))
    assert "Keeper had logged it" in text(page_of(other, due_car))
    clock.move_to(NOW + timedelta(days=8), tick=False)
    assert "also sent it" not in text(page_of(client, due_car))


def test_a_task_seen_open_after_the_other_entry_is_new_work(client, client_as, manager, due_car, clock):
    finish(client, due_car, "the-keepers-key")
    clock.move_to(NOW + timedelta(hours=2), tick=False)
    finish(client_as(manager), due_car, "the-managers-key", seen=NOW + timedelta(hours=1))
    assert Entry.objects.filter(kind="charge").count() == 2
    assert not Clash.objects.exists()


def test_one_fluid_changed_does_not_answer_for_another(client, client_as, manager, due_car, clock):
    clock.move_to(NOW + timedelta(minutes=5), tick=False)
    url = reverse("log_kind", args=[due_car.pk, "fluid_changed"])
    for who, fluid in ((client, "engine_oil"), (client_as(manager), "coolant")):
        sent = {"fluid": fluid, "type": "", "key": f"key-{fluid}", "seen": NOW.isoformat()}
        who.post(f"{url}?duty={fluid}", sent)
    assert Entry.objects.count() == 2
