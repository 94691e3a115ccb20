"""The calendar feed and the weekly mail: private, ended at will, each week once."""

from datetime import UTC, date, datetime, timedelta

import pytest
from django.core import mail
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from icalendar import Calendar

from collection import tasks
from collection.models import CalendarFeed, Membership, WeeklyMail
from collection.notices.queries.reminders import agenda, mails_due
from collection.operations import schedules
from collection.permissions import access_of
from tests.barn import TODAY, make_car
from tests.logbook import ago, ahead, give_duties

NOW = datetime(2026, 11, 25, 10, 0, tzinfo=UTC)
MONDAY = date(2026, 11, 23)


@pytest.fixture(autouse=True)
def clock(time_machine):
    time_machine.move_to(NOW, tick=False)
    return time_machine


@pytest.fixture
def due(car, neighbour_car):
    give_duties(
        car,
        charge={"window": (ago(40), ago(20), ago(5))},
        run_up={"window": (ago(3), ahead(2), ahead(6))},
        brake_fluid={"window": (ago(3), ahead(1), ahead(9)), "hold": "drained"},
    )
    give_duties(neighbour_car, coolant={"window": (ago(3), ahead(2), ahead(6))}, axle_oil={"unknown": True})
    return car, neighbour_car


def new_address(client):
    client.post(reverse("reminders"), {"what": "feed"})
    return client.get(reverse("reminders")).context["address"]


def events(address):
    answer = Client().get(address)
    assert answer["Content-Type"] == "text/calendar; charset=utf-8"
    return list(Calendar.from_ical(answer.content).walk("VEVENT"))


# --- what is one's own -----------------------------------------------------------------------------


def test_the_agenda_gathers_what_is_to_be_done_now_and_leaves_out_what_is_on_hold(due, keeper):
    days = agenda(access_of(keeper), today=TODAY, until=ahead(10))
    assert [(each.day, each.overdue, len(each.lines)) for each in days] == [
        (TODAY, True, 1),
        (ahead(6), False, 2),
    ]
    assert days[0].title == f"Act now: Maintainer charge, {due[0]}"
    assert days[1].title == "By today: 2, Coolant, Run-up"


def test_an_owners_agenda_holds_their_own_cars_only(due, owner):
    days = agenda(access_of(owner), today=TODAY, until=ahead(10))
    assert {line.vehicle for each in days for line in each.lines} == {due[0]}


# --- the calendar ----------------------------------------------------------------------------------


def test_a_calendar_reads_due_dates_without_a_sign_in(client_as, keeper, due):
    first, second = events(new_address(client_as(keeper)))
    assert str(first["summary"]) == f"Act now: Maintainer charge, {due[0]}"
    assert second["dtstart"].dt == ahead(6)
    assert second["dtend"].dt == ahead(7), "the end of a whole day is the next"
    assert f"Run-up: {due[0]}, Long shed A1" in str(second["description"])
    assert first["uid"] != second["uid"]


def test_the_file_keeps_to_the_standard(client_as, keeper, barn, car):
    long_name = make_car(barn, car.owner, model="Ünïcode; with, commas\\ and a very long name indeed")
    give_duties(car)
    give_duties(long_name, charge={"window": (ago(4), ahead(2), ahead(5))})
    raw = Client().get(new_address(client_as(keeper))).content
    assert raw.startswith(b"BEGIN:VCALENDAR\r\n")
    assert raw.count(b"\n") == raw.count(b"\r\n")
    assert all(len(line) <= 75 for line in raw.split(b"\r\n")), "lines are folded at 75 octets"
    for line in (b"VERSION:2.0", b"PRODID:", b"DTSTAMP:", b"UID:"):
        assert line in raw
    (event,) = Calendar.from_ical(raw).walk("VEVENT")
    assert long_name.model in str(event["description"])


def test_a_task_keeps_its_place_in_the_calendar_from_reading_to_reading(client_as, keeper, due, clock):
    address = new_address(client_as(keeper))
    before = [str(event["uid"]) for event in events(address)]
    clock.move_to(NOW + timedelta(hours=3), tick=False)
    assert [str(event["uid"]) for event in events(address)] == before


def test_only_the_digest_of_the_address_is_kept_and_it_is_shown_once(client_as, keeper, barn):
    client = client_as(keeper)
    token = new_address(client).removesuffix(".ics").rpartition("/")[2]
    assert len(token) >= 43, "not to be guessed"
    assert token not in CalendarFeed.objects.get().digest
    assert client.get(reverse("reminders")).context["address"] == ""


def test_an_ended_or_renewed_address_answers_no_more(client_as, keeper, due):
    client = client_as(keeper)
    old = new_address(client)
    new = new_address(client)
    assert (Client().get(old).status_code, Client().get(new).status_code) == (404, 200)
    client.post(reverse("reminders"), {"what": "end"})
    assert Client().get(new).status_code == 404
    assert Client().get(reverse("calendar_feed", args=["guessed"])).status_code == 404


def test_an_address_ends_with_the_membership_and_while_the_sign_in_is_closed(client_as, keeper, due):
    address = new_address(client_as(keeper))
    keeper.is_active = False
    keeper.save()
    assert Client().get(address).status_code == 404
    keeper.is_active = True
    keeper.save()
    assert Client().get(address).status_code == 200
    Membership.objects.filter(person=keeper).delete()
    assert Client().get(address).status_code == 404


def test_a_feed_shows_an_owner_their_own_cars_only(client_as, owner, due):
    feed_text = b"".join(Client().get(new_address(client_as(owner))).content.split(b"\r\n "))
    assert str(due[0]).encode() in feed_text
    assert str(due[1]).encode() not in feed_text


def test_a_feed_is_kept_out_of_shared_caches_and_search(client_as, keeper, due):
    answer = Client().get(new_address(client_as(keeper)))
    assert "private" in answer["Cache-Control"]
    assert answer["X-Robots-Tag"] == "noindex"


def test_a_feed_asks_the_database_no_more_for_twenty_cars_than_for_two(client_as, keeper, barn, car):
    give_duties(car)
    address = new_address(client_as(keeper))

    def queries_with(count):
        while barn.vehicles.count() < count:
            give_duties(
                make_car(barn, car.owner, model=f"No {barn.vehicles.count()}"),
                charge={"window": (ago(9), ago(5), ahead(1))},
            )
        with CaptureQueriesContext(connection) as queries:
            Client().get(address)
        return len(queries)

    assert queries_with(2) == queries_with(20)


# --- the mail --------------------------------------------------------------------------------------


@pytest.fixture
def wanted(client_as, keeper, settings):
    settings.SENDS_MAIL = True
    settings.ADDRESS = "https://barn.example"
    client_as(keeper).post(reverse("reminders"), {"what": "mail", "wanted": "on"})
    return WeeklyMail.objects.get()


@pytest.fixture
def queued(monkeypatch):
    """Jobs that the worker would take, done at once when asked."""
    jobs = []
    monkeypatch.setattr(tasks, "leave", lambda func, *args: jobs.append((func, args)))
    return jobs


def test_nobody_gets_mail_unasked(due, keeper, manager, settings, queued):
    settings.SENDS_MAIL = True
    tasks.weekly_mails()
    assert queued == []


def test_the_week_comes_in_plain_text_and_in_html(due, wanted, queued):
    tasks.weekly_mails()
    assert queued == [("collection.tasks.mail_the_week", (wanted.pk,))]
    tasks.mail_the_week(wanted.pk)
    (message,) = mail.outbox
    assert message.subject == "Hollin Barn: the week of Mon 23 Nov 2026"
    assert message.to == ["keeper@hollin.example"]
    assert f"- Maintainer charge: {due[0]}, Long shed A1, since Fri 20 Nov" in message.body
    assert "Coolant" not in message.body, "by next week"
    assert "Brake fluid" not in message.body, "what is held back is not to be done"
    ((html, kind),) = message.alternatives
    assert kind == "text/html"
    assert f'<a href="https://barn.example{reverse("car", args=[due[0].pk])}">' in html
    for part in (message.body, html):
        assert "https://barn.example/me/reminders/" in part
        assert "licensed practice come first" in part


def test_names_in_the_mail_are_words_and_no_markup(wanted, barn, car):
    odd = make_car(barn, car.owner, marque="<b>Arch & Sons</b>", model="One")
    give_duties(car)
    give_duties(odd, charge={"window": (ago(9), ago(5), ahead(1))})
    tasks.mail_the_week(wanted.pk)
    (message,) = mail.outbox
    assert "<b>Arch & Sons</b>" in message.body
    assert "&lt;b&gt;Arch &amp; Sons" in message.alternatives[0][0]


def test_a_week_is_mailed_once_however_often_the_job_runs(due, wanted, clock):
    for _ in range(3):
        tasks.mail_the_week(wanted.pk)
    assert len(mail.outbox) == 1
    assert mails_due(NOW) == []
    wanted.refresh_from_db()
    assert wanted.last_monday == MONDAY


@pytest.mark.parametrize(
    ("moment", "goes"),
    [
        (datetime(2026, 11, 30, 4, 59, tzinfo=UTC), False),
        (datetime(2026, 11, 30, 5, 0, tzinfo=UTC), True),
        (datetime(2026, 12, 3, 9, 0, tzinfo=UTC), True),  # the machine slept until Thursday
    ],
)
def test_the_next_week_goes_out_on_its_monday_morning_or_as_soon_as_may_be(due, wanted, moment, goes):
    tasks.mail_the_week(wanted.pk)
    assert mails_due(moment) == ([wanted.pk] if goes else [])


def test_monday_begins_where_the_barn_stands(due, wanted, barn):
    tasks.mail_the_week(wanted.pk)
    barn.sites.update(time_zone="Asia/Tokyo")
    assert mails_due(datetime(2026, 11, 29, 20, 30, tzinfo=UTC)) == [wanted.pk]


def test_a_mail_that_could_not_be_sent_is_tried_again(due, wanted, monkeypatch):
    def refuse(*_args, **_kwargs):
        raise OSError("no route to the mail server")

    monkeypatch.setattr("collection.notices.weekly_mail.send", refuse)
    with pytest.raises(OSError, match="no route"):
        tasks.mail_the_week(wanted.pk)
    assert mails_due(NOW) == [wanted.pk]


def test_the_mail_ends_when_it_is_no_longer_wanted(client_as, keeper, due, wanted):
    client_as(keeper).post(reverse("reminders"), {"what": "mail"})
    tasks.mail_the_week(wanted.pk)
    assert mail.outbox == []


def test_a_closed_sign_in_and_a_site_without_mail_send_nothing(due, wanted, keeper, settings, queued):
    settings.SENDS_MAIL = False
    tasks.weekly_mails()
    settings.SENDS_MAIL = True
    keeper.is_active = False
    keeper.save()
    tasks.weekly_mails()
    assert queued == []


def test_an_owners_mail_names_their_own_cars_only(client_as, owner, due, settings):
    settings.SENDS_MAIL = True
    client_as(owner).post(reverse("reminders"), {"what": "mail", "wanted": "on"})
    tasks.mail_the_week(WeeklyMail.objects.get().pk)
    assert str(due[0]) in mail.outbox[0].body
    assert str(due[1]) not in mail.outbox[0].body


def test_the_weekly_mail_comes_round_by_itself():
    assert "collection.tasks.weekly_mails" in {job.func for job in schedules.PERIODIC}
