"""Lists sorted by any column: by the address alone, what else it asks for kept, what is not known last."""

import re
from datetime import UTC, datetime

import pytest
import time_machine
from django.http import QueryDict
from django.urls import reverse

from collection.models import ForecastRun, Owner, Vehicle
from collection.web.sorting import Column, Sorting
from tests.barn import make_car
from tests.logbook import NOON, ahead, give_duties, write

COLUMNS = (
    Column("car", "Car", ("marque", "model")),
    Column("year", "Year", ("year",), numeric=True),
    Column("do", "Do"),
)


@pytest.fixture(autouse=True)
def _today():
    with time_machine.travel(NOON, tick=False):
        yield


def heads(query):
    return {head.title: head for head in Sorting(QueryDict(query), COLUMNS).heads}


def test_a_heading_asks_for_its_column_and_then_for_the_other_way_round():
    assert heads("")["Car"].address == "?sort=car"
    assert heads("sort=car")["Car"].address == "?sort=-car"
    assert heads("sort=-car")["Car"].address == "?sort=car"
    assert heads("")["Do"].address == ""
    assert [heads(q)["Car"].sorted for q in ("", "sort=car", "sort=-car", "sort=year")] == [
        "",
        "ascending",
        "descending",
        "",
    ]


def test_a_list_sorted_anew_keeps_its_filters_and_begins_at_its_beginning():
    address = heads("text=a+b&page=7&sort=year")["Car"].address
    assert dict(QueryDict(address[1:]).items()) == {"text": "a b", "sort": "car"}


@pytest.mark.parametrize(
    "asked", ["", "sort=", "sort=-", "sort=do", "sort=owner__person__password", "sort=%00"]
)
def test_what_is_no_column_of_the_list_leaves_its_own_order(db, asked):
    rows = Vehicle.objects.order_by("-year")
    assert Sorting(QueryDict(asked), COLUMNS).rows(rows) is rows


def test_what_is_not_known_stands_last_either_way(barn, owner):
    who = Owner.objects.create(organisation=barn, name="Ada Wren")
    for model, year in (("A", 1970), ("B", None), ("C", 1950)):
        make_car(barn, who, model=model, year=year)
    for asked, order in (("sort=year", "CAB"), ("sort=-year", "ACB")):
        rows = Sorting(QueryDict(asked), COLUMNS).rows(Vehicle.objects.all())
        assert "".join(row.model for row in rows) == order


# the pages

LISTS = {
    "collection": "name",
    "due": "by",
    "cars": "owner",
    "histories": "entries",
    "people": "email",
    "handovers": "when",
    "system": "took",
    "loggers": "file",
    "places": "bay",
    "private_showings": "when",
}


@pytest.fixture
def full(barn, car, neighbour_car, keeper):
    give_duties(car, charge={"window": (ahead(1), ahead(2), ahead(3))})
    give_duties(neighbour_car)
    write(car, keeper, "charge", 3, details={"completed": True})
    ForecastRun.objects.create(
        organisation=barn, started_at=datetime(2026, 11, 1, tzinfo=UTC), seconds=2, trigger="by hand"
    )


@pytest.mark.parametrize("name", LISTS)
def test_every_list_follows_its_headings_both_ways(client_as, manager, full, name):
    client, url = client_as(manager), reverse(name)
    page = client.get(url).content.decode()
    links = set(re.findall(r'<th scope="col"[^>]*><a href="(\?[^"]*)"', page))
    for link in links:
        answer = client.get(url + link.replace("&amp;", "&"))
        assert answer.status_code == 200
        text = answer.content.decode()
        assert 'aria-sort="ascending"' in text, link
        other = re.search(r'aria-sort="ascending"><a href="(\?[^"]*)"', text).group(1)
        assert 'aria-sort="descending"' in client.get(url + other.replace("&amp;", "&")).content.decode()
    assert links or name in ("handovers", "private_showings", "loggers")  # nothing is listed there yet


def test_due_is_one_list_by_its_first_date_or_by_name(client_as, manager, full, car, neighbour_car):
    client = client_as(manager)

    def order(**query):
        return [one.vehicle for one in client.get(reverse("due"), query).context["cars"]]

    assert order(sort="by") == [car, neighbour_car]
    assert order(sort="-by") == [neighbour_car, car]
    assert order(sort="car", duty="charge") == [neighbour_car, car]  # Sixteen before Twelve
    assert len(client.get(reverse("due"), {"sort": "car"}).context["groups"]) == 1
