"""The worksheet on paper, and keyed in from it with the keyboard."""

import io
import re
from datetime import UTC, datetime, timedelta

import pytest
from django.urls import reverse
from pypdf import PdfReader

from collection.care.actions.care import log_entry
from collection.models import Clash, Entry, Reading
from tests.logbook import ago, ahead, give_duties

NOW = datetime(2026, 11, 25, 16, 0, tzinfo=UTC)


@pytest.fixture(autouse=True)
def clock(time_machine):
    time_machine.move_to(NOW, tick=False)
    return time_machine


@pytest.fixture
def client(client_as, keeper):
    return client_as(keeper)


@pytest.fixture
def round_of_two(car, neighbour_car):
    """The first needs a charge and a run-up, the second its tyres gauged."""
    give_duties(
        car, charge={"window": (ago(40), ago(20), ago(5))}, run_up={"window": (ago(3), ahead(2), ahead(20))}
    )
    give_duties(neighbour_car, tyre_pressure={"window": (ago(9), ago(2), ahead(9))})
    return car, neighbour_car


def paper(client, **query):
    answer = client.get(reverse("worksheet_paper"), query)
    assert answer["Content-Type"] == "application/pdf"
    reader = PdfReader(io.BytesIO(answer.content))
    return re.sub(r"\s+", " ", " ".join(page.extract_text() for page in reader.pages)), reader


def sheet_address(car, **query):
    return reverse("from_paper_car", args=[car.pk]) + ("?" + "&".join(f"{k}={v}" for k, v in query.items()))


def keyed(client, car, **fields):
    """Post the page of a car as it stands, with some fields filled in."""
    page = client.get(sheet_address(car))
    return client.post(sheet_address(car), as_it_stands(page) | fields)


def as_it_stands(page):
    """The fields of a car's page as a browser would send them back."""
    rows = page.context["rows"]
    sent = {f"{row.line.duty}-key": row.form["key"].value() for row in rows}
    said = {"seen": page.context["seen"], "on": "2026-11-25", "walked": ""}
    return sent | said | {"duty": [row.line.duty for row in rows]}


# --- paper ---------------------------------------------------------------------------------------


def test_the_paper_names_each_car_its_tasks_boxes_and_cautions(client, round_of_two):
    car, other = round_of_two
    text, reader = paper(client)
    assert f"{car.pk} A1 · {car}" in text
    for words in (
        "Maintainer charge, since Fri 20 Nov, act now",
        "Rested volts, V",
        "Run for, min",
        "not done",
        "Front left, bar",
        "Hydrogen and acid.",
        "Carbon monoxide.",
        "licensed practice come first",
    ):
        assert words in text, words
    assert text.index(str(car)) < text.index(str(other)), "in walking order"
    assert "#" not in text, "no markup is left over"
    assert reader.trailer["/Root"]["/MarkInfo"]["/Marked"], "readable by a screen reader"


def test_paper_comes_in_a4_and_letter(client, round_of_two):
    for name, width in (("a4", 595.3), ("us-letter", 612)):
        _, reader = paper(client, paper=name)
        assert float(reader.pages[0].mediabox.width) == pytest.approx(width, abs=0.5)


def test_a_tag_stands_with_its_car_on_paper(client, round_of_two, keeper):
    log_entry(
        vehicle=round_of_two[0],
        kind="tag_opened",
        done_at=None,
        by=keeper,
        idempotency_key="tag-key",
        now=NOW,
        details={"tag": "drained", "where": "sump empty"},
    )
    give_duties_again(round_of_two[0])
    assert "Tag: sump empty" in paper(client)[0]


def give_duties_again(car):
    car.duties.all().delete()
    give_duties(car, charge={"window": (ago(40), ago(20), ago(5))})


def test_a_site_without_work_gives_a_paper_that_says_so(client, car):
    give_duties(car)
    assert "Nothing falls due" in paper(client)[0]


@pytest.mark.parametrize("asked", ["yesterday", "9999-12-31", "0001-01-01"])
def test_a_week_that_is_none_is_not_found(client, car, asked):
    assert client.get(reverse("worksheet_paper"), {"from": asked}).status_code in (200, 404)
    assert client.get(reverse("from_paper"), {"from": asked}).status_code in (200, 404)


# --- keying in -----------------------------------------------------------------------------------


@pytest.mark.parametrize("by", ["pk", "bay", "registration"])
def test_a_car_is_opened_by_what_stands_on_the_paper(client, round_of_two, by):
    car = round_of_two[0]
    car.registration = "AB 12 CD"
    car.save()
    wanted = {"pk": str(car.pk), "bay": "a1", "registration": "ab12cd"}[by]
    answer = client.get(reverse("from_paper"), {"go": wanted, "on": "2026-11-24"})
    assert answer.url == sheet_address(car, on="2026-11-24")
    assert "no car with open tasks" in client.get(reverse("from_paper"), {"go": "Z9"}).content.decode()


def test_a_typed_reading_says_that_it_was_done_and_the_next_car_opens(client, round_of_two):
    car, other = round_of_two
    answer = keyed(
        client,
        car,
        **{"charge-rested_volts": "12.4", "charge-completed": "on", "on": "2026-11-24", "walked": "Odd"},
    )
    assert answer.url == sheet_address(other, on="2026-11-24", walked="Odd")
    entry = Entry.objects.get()
    assert (entry.kind, entry.details) == ("charge", {"completed": True})
    assert entry.done_at == datetime(2026, 11, 24, 12, tzinfo=UTC)
    assert entry.note == "From the paper worksheet, walked by Odd."
    assert Reading.objects.get().value == 12.4


def test_done_or_not_done_is_chosen_where_nothing_was_measured(client, round_of_two):
    car, _ = round_of_two
    fields = {"run_up-result": "not done", "run_up-reason": "Weather", "run_up-note": "storm"}
    keyed(client, car, **fields, **{"charge-result": "done"})
    charge, refused = Entry.objects.order_by("kind")
    assert charge.kind == "charge"
    assert refused.details == {"duty": "run_up", "reason": "Weather: storm"}


def test_what_is_left_empty_stays_open(client, round_of_two):
    answer = keyed(client, round_of_two[0])
    assert answer.url.startswith(reverse("from_paper_car", args=[round_of_two[1].pk]))
    assert not Entry.objects.exists()


def test_a_fault_keeps_the_whole_car_and_says_where(client, round_of_two):
    answer = keyed(client, round_of_two[0], **{"charge-rested_volts": "99", "run_up-minutes": "40"})
    assert answer.status_code == 200
    assert "out of range" in answer.content.decode()
    assert "Nothing is saved yet" in answer.content.decode()
    assert not Entry.objects.exists()


def test_what_the_log_itself_refuses_keeps_the_whole_car_too(client, round_of_two):
    fields = {"charge-rested_volts": "12.4", "run_up-minutes": "40", "run_up-distance_km": "9"}
    answer = keyed(client, round_of_two[0], **fields)
    assert "A car that was not driven covers no distance" in answer.content.decode()
    assert not Entry.objects.exists()


def test_a_day_to_come_is_refused(client, round_of_two):
    answer = keyed(client, round_of_two[0], **{"charge-result": "done", "on": "2026-11-26"})
    assert "in the future" in answer.content.decode()
    assert not Entry.objects.exists()


def test_a_car_saved_twice_is_stored_once(client, round_of_two):
    car = round_of_two[0]
    page = client.get(sheet_address(car))
    sent = as_it_stands(page) | {"on": "2026-11-24", "charge-result": "done"}
    for _ in range(2):
        client.post(sheet_address(car), sent)
    assert Entry.objects.count() == 1


def test_what_somebody_logged_by_phone_meanwhile_is_told(client, round_of_two, manager, clock):
    car = round_of_two[0]
    page = client.get(sheet_address(car))
    sent = as_it_stands(page) | {"charge-rested_volts": "12.4"}
    clock.move_to(NOW + timedelta(minutes=3), tick=False)
    log_entry(
        vehicle=car,
        kind="charge",
        done_at=None,
        by=manager,
        idempotency_key="phone-key",
        now=NOW + timedelta(minutes=3),
        details={"completed": True},
    )
    assert client.get(sheet_address(car)).url.startswith(reverse("from_paper")), "nothing else is known due"
    answer = client.post(sheet_address(car), sent, follow=True)
    assert "Manager had logged it" in answer.content.decode()
    assert Entry.objects.count() == 1
    assert Clash.objects.get().said["rested_volts"] == ["12.4"]


def test_a_car_with_nothing_open_leads_back_to_the_list(client, car):
    give_duties(car)
    assert client.get(sheet_address(car)).url.startswith(reverse("from_paper"))
