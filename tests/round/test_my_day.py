"""A person's own day: the same on phone and paper, what is overdue in sight, passed on, noted."""

import io
import json
import re
import uuid
from datetime import UTC, datetime, timedelta

import pytest
from django.urls import reverse
from pypdf import PdfReader

from collection.care.actions.care import log_entry
from collection.life.duties import DUTY_TITLES
from collection.models import (
    Assignment,
    CareKind,
    ClimateMonth,
    Entry,
    EquipmentKind,
    Hand,
    PinnedChoice,
    ShiftNote,
    StormDay,
)
from collection.permissions import access_of
from collection.round.queries.kit import kit
from collection.round.queries.my_day import days_of, my_days, progress, stored_plan
from collection.round.queries.staff import owned_at
from collection.round.queries.weeks import week_of, week_sheet
from tests.barn import TODAY, make_car
from tests.round.test_weeks import fresh

NOW = datetime(2026, 11, 25, 10, 0, tzinfo=UTC)  # a Wednesday
TOMORROW = TODAY + timedelta(days=1)
SOON = {
    "early": TODAY - timedelta(days=9),
    "due": TODAY + timedelta(days=2),
    "late": TODAY + timedelta(days=9),
}
LATE = {name: TODAY - timedelta(days=days) for name, days in (("early", 60), ("due", 40), ("late", 30))}
WEEK = dict.fromkeys(("monday", "tuesday", "wednesday", "thursday", "friday"), 240)


@pytest.fixture(autouse=True)
def clock(time_machine):
    time_machine.move_to(NOW, tick=False)
    return time_machine


@pytest.fixture
def site(barn):
    return barn.sites.get()


def pin(car, duty, day, person):
    PinnedChoice.objects.create(vehicle=car, duty=duty, day=day, person=person, chosen_at=NOW)


@pytest.fixture
def day(barn, site, keeper, manager, car, neighbour_car, owner):
    """Two cars today and one tomorrow are the keeper's, one today the manager's; one more is late."""
    for kind in (EquipmentKind.CHARGER, EquipmentKind.EXHAUST_PLACE):
        site.equipment.create(kind=kind, count=1)
    for person in (keeper, manager):
        Hand.objects.create(site=site, person=person, may=list(DUTY_TITLES), **WEEK)
    third, late = (make_car(barn, car.owner) for _ in range(2))
    fresh(car, charge=SOON, tyre_pressure=SOON)
    fresh(neighbour_car, inspection=SOON)
    fresh(third, tyre_pressure=SOON)
    fresh(late, brake_fluid=LATE)
    pin(car, "charge", TODAY, keeper)
    pin(car, "tyre_pressure", TODAY, keeper)
    pin(neighbour_car, "inspection", TODAY, keeper)
    pin(third, "tyre_pressure", TOMORROW, keeper)
    pin(late, "brake_fluid", TODAY + timedelta(days=5), manager)
    return {"car": car, "neighbour": neighbour_car, "third": third, "late": late}


def text(html):
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html))


@pytest.fixture
def phone(client_as, keeper):
    return client_as(keeper).get(reverse("worksheet"))


def keys(one):
    return {(visit.vehicle, task.row.duty) for visit in one.visits for task in visit.tasks}


def test_the_phone_shows_ones_own_day_in_its_order_and_the_next_day_a_tap_away(day, phone, keeper):
    mine, after = phone.context["day"], phone.context["after"]
    assert (mine.day, mine.person, after.day) == (TODAY, keeper, TOMORROW)
    assert keys(mine) == {
        (day["car"], "charge"),
        (day["car"], "tyre_pressure"),
        (day["neighbour"], "inspection"),
    }
    assert keys(after) == {(day["third"], "tyre_pressure")}
    rows = Assignment.objects.filter(day=TODAY, person=keeper).order_by("order")
    assert [task.row for visit in mine.visits for task in visit.tasks] == list(rows)
    assert (mine.cars, mine.planned) == (2, sum(row.minutes for row in rows))
    assert f"Wed 25 Nov: {mine.load}" in text(phone.content.decode())


def test_what_is_late_and_in_nobodys_day_of_mine_is_always_in_sight(day, phone):
    assert [(car, [line.duty for line in lines]) for car, lines in phone.context["late"]] == [
        (day["late"], ["brake_fluid"])
    ]
    assert "Late, and not in your day: 1 car" in text(phone.content.decode())


def test_a_car_with_a_late_duty_planned_for_another_week_does_not_say_that_nothing_is_due(
    day, phone, client_as, keeper
):
    page = client_as(keeper).get(reverse("worksheet_car", args=[day["late"].pk]))
    assert [step.task.line.duty for step in page.context["must"]] == ["brake_fluid"]
    assert "Nothing is planned" not in text(page.content.decode())


def test_done_work_leaves_less_of_the_day_and_shows_in_the_progress_of_all(day, phone, site, keeper, manager):
    plan = stored_plan(site, TODAY)
    before = my_days(plan, keeper, TODAY)[0]
    log_entry(
        vehicle=day["neighbour"],
        kind=CareKind.INSPECTED,
        details={"ok": True},
        done_at=None,
        by=keeper,
        now=NOW + timedelta(minutes=1),
        idempotency_key="looked",
    )
    after = my_days(plan, keeper, TODAY)[0]
    assert (before.cars_left, after.cars_left) == (2, 1)
    assert before.left - after.left == next(v.minutes for v in before.visits if v.vehicle == day["neighbour"])
    assert {each.person: each.seen_to for each in progress(plan, TODAY)}[keeper] == 1


@pytest.mark.parametrize(
    ("month", "storm", "told"),
    [
        ({"min_c": -4, "mean_c": 1, "max_c": 5}, False, ["Frost: nights are normally −4 °C"]),
        ({"min_c": 14, "mean_c": 22, "max_c": 31}, False, ["Heat: afternoons are normally 31 °C"]),
        ({"min_c": 4, "mean_c": 8, "max_c": 12}, True, ["Storm: no work in the yard"]),
        ({"min_c": 4, "mean_c": 8, "max_c": 12}, False, []),
    ],
)
def test_storm_heat_and_frost_stand_at_the_day(day, phone, site, keeper, month, storm, told):
    ClimateMonth.objects.filter(climate=site.climate).update(**month)
    if storm:
        StormDay.objects.create(site=site, day=TODAY)
    notes = my_days(stored_plan(site, TODAY), keeper, TODAY)[0].notes
    assert len(notes) == len(told)
    assert all(note.startswith(words) for note, words in zip(notes, told, strict=True))


def paper(client, day):
    answer = client.get(reverse("worksheet_paper"), {"day": day.isoformat()})
    pages = PdfReader(io.BytesIO(answer.content)).pages
    return re.sub(r"\s+", " ", " ".join(page.extract_text() for page in pages))


@pytest.mark.parametrize("which", ["day", "after"])
def test_the_paper_shows_the_same_day_as_the_phone(day, phone, client_as, keeper, which):
    shown = phone.context[which]
    printed = paper(client_as(keeper), shown.day)
    assert shown.load in printed
    assert str(keeper) in printed
    places = []
    for visit in shown.visits:
        places.append(printed.index(f"{visit.start}, {visit.minutes} min"))
        for task in visit.tasks:
            assert printed.index(task.title, places[-1]) > places[-1]
    assert places == sorted(places)
    assert printed.count("not done") == sum(len(visit.tasks) for visit in shown.visits)
    for note in shown.notes:
        assert note in printed
    for car, lines in phone.context["late"]:
        assert f"{car}: {', '.join(f'{line.title} (since ' for line in lines)}" in printed
    others = {day["third"], day["car"], day["neighbour"]} - {visit.vehicle for visit in shown.visits}
    assert all(f"{car.pk} {car.bay.label if car.bay else ''}" not in printed for car in others if car.bay)


def test_there_is_no_paper_of_a_day_without_work(day, phone, client_as, keeper, viewer):
    client = client_as(keeper)
    for asked in ("2026-11-24", "2027-11-24", "soon", (TODAY + timedelta(days=3)).isoformat()):
        assert client.get(reverse("worksheet_paper"), {"day": asked}).status_code == 404


def test_what_is_brought_is_never_more_than_is_owned(day, phone, barn, site, keeper):
    site.equipment.filter(kind=EquipmentKind.CHARGER).update(count=2)
    for _ in range(3):
        fresh(make_car(barn, day["car"].owner), charge=SOON)
    sheet = week_sheet(access_of(keeper), site=site, week=week_of(TODAY), today=TODAY)
    (chargers,) = [item for item in kit(sheet.stops, owned_at(site)) if item.name == "charger"]
    assert chargers.count == 2
    assert "for 4 cars: in turns" in chargers.remark


# --- passed on, noted ------------------------------------------------------------------------------


@pytest.fixture
def send(client_as, keeper, barn):
    def sent(**entry):
        body = {
            "sent_at": NOW.isoformat(),
            "person": keeper.pk,
            "organisation": barn.pk,
            "entries": [
                {"key": str(uuid.uuid4()), "units": "metric", "done_at": NOW.isoformat(), "fields": {}}
                | entry
            ],
        }
        url = reverse("worksheet_entries")
        answer = client_as(keeper).post(url, json.dumps(body), content_type="application/json")
        return answer.json()["outcomes"][0]

    return sent


def test_a_task_is_given_to_a_colleague(day, phone, send, site, keeper, manager):
    car = day["neighbour"]
    asked = {"car": car.pk, "kind": "pass_on", "duty": "inspection", "key": str(uuid.uuid4())}
    for _ in range(2):
        assert send(**asked, fields={"person": [str(manager.pk)]})["state"] == "stored"
    chosen = PinnedChoice.objects.get(vehicle=car, duty="inspection")
    assert (chosen.person, chosen.by) == (manager, keeper)
    plan = stored_plan(site, TODAY)
    theirs = {
        key for each in days_of(plan, TODAY, TODAY + timedelta(days=9), manager.pk) for key in keys(each)
    }
    assert (car, "inspection") in theirs
    assert not Entry.objects.exists()


def test_a_task_is_carried_over_with_a_reason_that_stands_in_the_log(day, phone, send, site):
    car = day["car"]
    fields = {"day": [TOMORROW.isoformat()], "reason": ["Weather"]}
    assert send(car=car.pk, kind="pass_on", duty="charge", fields=fields)["state"] == "stored"
    assert PinnedChoice.objects.get(vehicle=car, duty="charge").day == TOMORROW
    assert Entry.objects.get().details == {"duty": "charge", "reason": "Weather"}


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"day": [""]}, "Choose a day or a person"),
        ({"day": ["2026-11-20"], "reason": ["Weather"]}, "That day is past"),
        ({"person": ["999999"]}, "Select a valid choice"),
    ],
)
def test_what_cannot_be_passed_on_says_why_and_stores_nothing(day, phone, send, fields, words):
    answer = send(car=day["car"].pk, kind="pass_on", duty="charge", fields=fields)
    assert answer["state"] == "refused"
    assert words in answer["says"]
    assert not Entry.objects.exists()


def test_a_note_at_the_end_of_the_shift_stands_on_the_round_of_the_next(day, send, client_as, site, manager):
    key = str(uuid.uuid4())
    for _ in range(3):
        sent = send(kind="shift_note", site=site.pk, key=key, fields={"words": ["Door of row B sticks."]})
        assert sent["state"] == "stored"
    assert ShiftNote.objects.count() == 1
    assert "Door of row B sticks." in client_as(manager).get(reverse("worksheet")).content.decode()
    for words, where in (("", site.pk), ("x" * 1001, site.pk), ("x", 999)):
        assert send(kind="shift_note", site=where, fields={"words": [words]})["state"] == "refused"
    assert ShiftNote.objects.count() == 1


def test_a_note_is_left_without_a_script_too_and_not_at_a_foreign_site(
    client_as, keeper, outsider, barn, site
):
    client = client_as(keeper)
    page = client.get(reverse("worksheet"))
    key = page.context["note"]["key"].value()
    for _ in range(2):
        assert client.post(reverse("worksheet"), {"words": "Key 4 is with me", "key": key}).status_code == 302
    assert ShiftNote.objects.get().by == keeper
    assert client_as(outsider).get(reverse("worksheet"), {"site": site.pk}).status_code == 404
