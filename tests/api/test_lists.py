"""Lists are filtered, put in order and cut by the database; one car's dates recompute one car."""

from datetime import UTC, datetime, timedelta

import pytest
from django.db import connection
from django.db.models.sql.compiler import SQLCompiler
from django.test.utils import CaptureQueriesContext

from collection.due.queries.cars_due import Wanted, lines_wanted
from collection.life.duties import DUTY_TITLES, STATE_ORDER, order_of
from collection.life.first_states import FIRST_STATES
from collection.life.refresh import refresh_organisation
from collection.models import Bay, Building, CarSummary, DutyRow, ForecastRun, Owner, Vehicle
from collection.notices.actions.webhooks import make_webhook, send_test
from collection.permissions import access_of
from collection.proof.actions import sign_statement
from tests.api.api_kit import programme
from tests.barn import TODAY, make_car, make_person
from tests.logbook import write

NOW = datetime(2026, 11, 25, 10, tzinfo=UTC)
FEW, MANY, AT_ONCE = 2, 40, 2
LISTS = (
    "/cars",
    "/cars?text=No",
    "/duties",
    "/duties?state=fine",
    "/duties?duty=inspection&within_days=400",
    "/entries",
    "/entries?kind=charge&standing=true",
    "/readings",
    "/readings?quantity=rested_volts",
    "/sites",
    "/buildings",
    "/bays",
    "/climates",
    "/owners",
    "/members",
    "/runs",
    "/statements",
    "/webhooks",
    "/webhooks/{hook}/deliveries",
)


@pytest.fixture(autouse=True)
def clock(time_machine):
    time_machine.move_to(NOW, tick=False)


@pytest.fixture
def program(manager):
    return programme(manager)


@pytest.fixture
def fetched(monkeypatch):
    """The rows that the database gave, in a list of one number."""
    count, rows_of = [0], SQLCompiler.results_iter

    def counted(self, *args, **kwargs):
        for row in rows_of(self, *args, **kwargs):
            count[0] += 1
            yield row

    monkeypatch.setattr(SQLCompiler, "results_iter", counted)
    return count


def add_cars(barn, by, numbers):
    """So many owners, cars with an entry and a reading, bays; dates are of today."""
    shed = Building.objects.filter(site__organisation=barn).first()
    for number in numbers:
        owner = Owner.objects.create(organisation=barn, name=f"Owner {number}")
        bay = Bay.objects.create(building=shed, row="Q", place=number + 1)
        car = make_car(barn, owner, bay, model=f"No. {number}")
        reading = [{"quantity": "rested_volts", "value": 12.4}]
        write(car, by, "charge", 5 + number, details={"completed": True}, readings=reading)
    refresh_organisation(barn.pk, today=TODAY, trigger="a test")


def add_the_rest(barn, numbers):
    """So many members, messages, runs, statements."""
    for number in numbers:
        make_person(f"member{number}@hollin.example", barn, "viewer")
        send_test(webhook=barn.webhooks.first(), now=NOW + timedelta(seconds=number))
        ForecastRun.objects.create(organisation=barn, started_at=NOW, trigger="a test")
        sign_statement(organisation=barn, now=NOW)


def read(program, path, fetched):
    """Queries asked and rows fetched for the first page, on reading again; its items; how many in all."""
    address = f"{path}{'&' if '?' in path else '?'}limit={AT_ONCE}"
    assert program.get(address).status_code == 200, path
    fetched[0] = 0
    with CaptureQueriesContext(connection) as queries:
        answer = program.get(address).json()
    return len(queries), fetched[0], len(answer["items"]), answer["total"]


def test_a_page_asks_for_no_more_queries_or_rows_among_forty_than_among_two(
    barn, keeper, manager, program, fetched
):
    for name in "ab":
        make_webhook(organisation=barn, name=name, address="https://listener.example/", by=manager, now=NOW)
    paths = [path.format(hook=barn.webhooks.first().pk) for path in LISTS]
    seen = []
    for numbers in (range(FEW), range(FEW, MANY)):
        add_cars(barn, keeper, numbers)
        add_the_rest(barn, numbers)
        seen.append({path: read(program, path, fetched) for path in paths})
    few, many = seen
    more = [path for path in paths if many[path][0] > few[path][0] or many[path][1] > few[path][1]]
    assert {path: (few[path], many[path]) for path in more} == {}
    assert many["/cars"][3] == MANY
    short = [
        path for path in paths if few[path][2] < AT_ONCE and path not in ("/sites", "/buildings", "/climates")
    ]
    assert short == []  # else more rows would hide behind a page that was not full


def all_pages(program, path, limit, **asked):
    """Every item of a list, page by page."""
    items, total = [], 1
    while len(items) < total:
        page = program.get(path, limit=limit, offset=len(items), **asked).json()
        items, total = items + page["items"], page["total"]
    return items


def test_what_is_due_comes_by_urgency_page_by_page_whole_and_once(barn, keeper, manager, program):
    add_cars(barn, keeper, range(5))
    DutyRow.objects.filter(duty="charge").update(due=None, late=None)
    DutyRow.objects.filter(duty="inspection").update(hold="on its stands")
    listed = all_pages(program, "/duties", 7)
    lines = lines_wanted(access_of(manager), Wanted(), TODAY)
    assert sorted((one["car_id"], one["duty"]) for one in listed) == sorted(
        (line.vehicle.pk, line.duty) for line in lines
    )
    order = [(order_of(one["urgency"], one["duty"]), one["by_on"] or "9999") for one in listed]
    assert order == sorted(order)
    assert {one["urgency"] for one in listed} == {line.state for line in lines}
    for urgency in STATE_ORDER:
        asked = all_pages(program, "/duties", 7, urgency=urgency)
        assert asked == [one for one in listed if one["urgency"] == urgency]


def test_the_names_that_were_promised_first_are_still_told_and_asked_for(barn, keeper, manager, program):
    add_cars(barn, keeper, range(3))
    listed = all_pages(program, "/duties", 500)
    states = {(line.vehicle.pk, line.duty): line.first_state for line in _lines(manager)}
    assert {(one["car_id"], one["duty"]): one["state"] for one in listed} == states
    for state in FIRST_STATES:
        asked = all_pages(program, "/duties", 500, state=state)
        assert asked == [one for one in listed if one["state"] == state]


def _lines(manager):
    return lines_wanted(access_of(manager), Wanted(), TODAY)


def test_what_is_due_is_filtered_by_car_owner_site_and_days(barn, keeper, manager, program):
    add_cars(barn, keeper, range(3))
    listed, car = all_pages(program, "/duties", 500), Vehicle.objects.first()
    of_car = [one for one in listed if one["car_id"] == car.pk]
    assert all_pages(program, "/duties", 5, owner_id=car.owner_id) == of_car
    assert all_pages(program, "/duties", 500, site_id=car.bay.building.site_id) == listed
    near = (TODAY + timedelta(days=30)).isoformat()
    assert all_pages(program, "/duties", 5, within_days=30) == [
        one for one in listed if one["due_on"] and one["due_on"] <= near
    ]


OF_ONE_CAR = ("duties", "duties/charge", "history")


@pytest.mark.parametrize("path", OF_ONE_CAR)
def test_asking_for_one_cars_dates_recomputes_that_car_alone(barn, keeper, program, path):
    add_cars(barn, keeper, range(3))
    asked = Vehicle.objects.first()
    DutyRow.objects.all().delete()
    CarSummary.objects.all().delete()
    assert program.get(f"/cars/{asked.pk}/{path}").status_code == 200
    assert set(DutyRow.objects.values_list("vehicle", flat=True)) == {asked.pk}


def test_asking_for_an_owners_dates_recomputes_their_cars_alone(barn, keeper, program):
    add_cars(barn, keeper, range(3))
    asked = Vehicle.objects.first()
    DutyRow.objects.all().delete()
    CarSummary.objects.all().delete()
    answer = program.get("/duties", owner_id=asked.owner_id).json()
    assert answer["total"] == len(DUTY_TITLES)
    assert answer["stale_cars"] == 0
    assert set(DutyRow.objects.values_list("vehicle", flat=True)) == {asked.pk}


@pytest.mark.parametrize("code", ["", "igloo", "ENCLOSED"])
def test_a_shelter_or_regime_that_nobody_knows_is_null_and_the_list_is_read(barn, car, program, code):
    Building.objects.filter(site__organisation=barn).update(shelter=code)
    Vehicle.objects.filter(pk=car.pk).update(regime=code)
    (building,) = program.get("/buildings").json()["items"]
    assert (building["shelter"], building["name"]) == (None, "Long shed")
    assert program.get("/cars").json()["items"][0]["regime"] is None
    assert program.get(f"/cars/{car.pk}").json()["regime"] is None
