"""The plan in calendar and mail: a line a day, an event a visit, and for managers what did not get done."""

from datetime import UTC, timedelta

import pytest
from django.core import mail
from django.test import Client
from django.urls import reverse
from icalendar import Calendar

from collection.care.actions.care import log_entry
from collection.models import Assignment, CareKind, Membership, PinnedChoice, SitePlan
from collection.notices import weekly_mail
from collection.notices.queries.reminders import left_undone
from collection.permissions import access_of
from collection.round.actions.plans import kept_plan
from collection.round.queries.my_day import days_of
from tests.barn import TODAY
from tests.round.test_my_day import NOW, TOMORROW, clock, day, site  # noqa: F401 - fixtures

MONDAY = TODAY - timedelta(days=TODAY.weekday())


@pytest.fixture
def plan(day, site):  # noqa: F811
    return kept_plan(site=site, today=TODAY, now=NOW).plan


@pytest.fixture
def address(client_as, plan):
    def of(person):
        client = client_as(person)
        client.post(reverse("reminders"), {"what": "feed"})
        return client.get(reverse("reminders")).context["address"]

    return of


def events(url):
    return list(Calendar.from_ical(Client().get(url).content).walk("VEVENT"))


def visits(feed):
    return {str(event["uid"]): event for event in feed if str(event["uid"]).startswith("visit-")}


def test_each_visit_of_ones_own_is_an_event_with_an_alarm_and_a_link_and_each_day_a_line(
    address,
    plan,
    keeper,
    day,  # noqa: F811
):
    feed = events(address(keeper))
    mine = days_of(plan, TODAY, plan.last_day, keeper.pk)
    lines = [event for event in feed if str(event["uid"]).startswith("day-")]
    assert [(e["dtstart"].dt, str(e["summary"])) for e in lines] == [(each.day, each.load) for each in mine]
    timed = visits(feed)
    assert len(timed) == sum(len(each.visits) for each in mine)
    first = mine[0].visits[0]
    event = next(e for e in timed.values() if str(first.vehicle) in str(e["summary"]))
    assert event["dtstart"].dt.astimezone(UTC).date() == TODAY
    assert event["dtend"].dt - event["dtstart"].dt == timedelta(minutes=first.minutes)
    (alarm,) = event.walk("VALARM")
    assert (str(alarm["action"]), alarm["trigger"].dt) == ("DISPLAY", timedelta(minutes=-15))
    assert str(event["url"]).endswith(reverse("worksheet_car", args=[first.vehicle.pk]))
    assert any(str(e["uid"]).startswith("overdue-") for e in feed), "what is late stays in sight"


def test_a_visit_that_is_moved_to_another_day_keeps_its_identity(address, plan, keeper, day, site):  # noqa: F811
    url = address(keeper)
    before = visits(events(url))
    PinnedChoice.objects.filter(vehicle=day["third"]).update(day=TOMORROW + timedelta(days=1))
    kept_plan(site=site, today=TODAY, now=NOW + timedelta(minutes=5))
    after = visits(events(url))
    (moved,) = [uid for uid in before if str(day["third"].pk) in uid.split("/")[0].split("-")]
    assert before[moved]["dtstart"].dt.date() == TOMORROW
    assert after[moved]["dtstart"].dt.date() == TOMORROW + timedelta(days=1)
    assert after[moved]["last-modified"].dt > before[moved]["last-modified"].dt


def test_an_owner_sees_due_dates_and_no_plan(address, plan, owner):
    assert not visits(events(address(owner)))


def test_the_file_of_visits_keeps_to_the_standard(address, plan, keeper):
    raw = Client().get(address(keeper)).content
    assert raw.count(b"\n") == raw.count(b"\r\n")
    assert all(len(line) <= 75 for line in raw.split(b"\r\n"))
    for event in Calendar.from_ical(raw).walk("VEVENT"):
        assert {"UID", "DTSTAMP", "DTSTART"} <= set(event)


def mailed(person):
    membership = Membership.objects.get(person=person)
    weekly_mail.send(membership, MONDAY, now=NOW)
    return mail.outbox[-1].body


def test_the_mail_says_each_day_in_a_line_with_its_visits(plan, keeper, day):  # noqa: F811
    body = mailed(keeper)
    for each in days_of(plan, TODAY, MONDAY + timedelta(days=6), keeper.pk):
        assert f"{each.day:%a} {each.day.day} {each.day:%b}: {each.load}" in body
        for visit in each.visits:
            assert f"{visit.start} " in body
            assert str(visit.vehicle) in body
    assert "What did not get done" not in body


def not_done(car, by, duty, *, hours_ago, reason="Weather"):
    log_entry(
        vehicle=car,
        kind=CareKind.NOT_DONE,
        details={"duty": duty, "reason": reason},
        done_at=NOW - timedelta(hours=hours_ago),
        by=by,
        now=NOW,
        idempotency_key=f"{car.pk}-{duty}-{hours_ago}",
    )


def test_managers_get_what_did_not_get_done_with_the_last_reason(plan, manager, keeper, day):  # noqa: F811
    not_done(day["car"], keeper, "charge", hours_ago=30)
    not_done(day["car"], keeper, "charge", hours_ago=20, reason="Locked, no key")
    not_done(day["neighbour"], keeper, "inspection", hours_ago=20)
    log_entry(
        vehicle=day["neighbour"],
        kind=CareKind.INSPECTED,
        details={"ok": True},
        done_at=NOW - timedelta(hours=2),
        by=keeper,
        now=NOW,
        idempotency_key="after all",
    )
    undone = left_undone(access_of(manager), NOW - timedelta(days=7))
    assert [(entry.vehicle, entry.details["reason"]) for entry in undone] == [(day["car"], "Locked, no key")]
    body = mailed(manager)
    assert f"- Maintainer charge: {day['car']}, locked, no key ({keeper}, " in body
    assert "What did not get done" not in mailed(keeper)


def test_a_plan_that_ended_says_nothing(address, plan, keeper):
    SitePlan.objects.update(last_day=TODAY - timedelta(days=1))
    assert Assignment.objects.exists()
    assert not visits(events(address(keeper)))
