"""The collection: every car with a cell for each of its parts, what may not wait above it."""

import re

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from collection.care.actions.chain import chain_missing
from collection.due.cells import DUTIES_OF, PARTS
from collection.due.views.collection import SMALL
from collection.life.duties import DUTY_TITLES, STATE_ORDER
from collection.models import Bay, Owner
from scheduler.vocabulary.bodies import BODIES
from tests.barn import make_car
from tests.logbook import NOON, ago, ahead, as_shown, give_duties, write

LATE = {"window": (ago(30), ago(20), ago(10))}
DUE = {"window": (ago(9), ago(2), ahead(6))}
NEXT_WEEK = {"window": (ahead(3), ahead(9), ahead(25))}


@pytest.fixture(autouse=True)
def _today():
    with time_machine.travel(NOON, tick=False):
        yield


def page(client, query=""):
    response = client.get(f"/collection/{query}")
    assert response.status_code == 200
    return response


def cars_in_order(response):
    return [car.vehicle.pk for car in response.context["cars"]]


def cells(response, car):
    return {cell.part.code: cell for cell in _shown(response, car).cells}


def _shown(response, car):
    return next(shown for shown in response.context["cars"] if shown.vehicle.pk == car.pk)


def test_each_duty_falls_into_one_part():
    duties = [duty for duties in DUTIES_OF.values() for duty in duties]
    assert sorted(duties) == sorted(DUTY_TITLES)
    assert [part for part, duties in DUTIES_OF.items() if not duties] == ["papers"]


def test_a_cell_shows_what_presses_most_in_its_part(client_as, keeper, car):
    give_duties(car, charge=LATE, coolant=DUE, brake_fluid=NEXT_WEEK, tyre_move={"hold": "on stands"})
    shown = cells(page(client_as(keeper)), car)
    assert shown["battery"].state == STATE_ORDER[0]
    assert (shown["fluids"].line.duty, shown["fluids"].on) == ("coolant", ahead(6))
    assert shown["papers"].line is None
    assert not shown["running"].presses


def test_what_presses_leads_to_its_reason_and_what_does_not_is_no_link(client_as, keeper, car):
    give_duties(car, charge=LATE)
    table = page(client_as(keeper)).content.decode().split("<tbody>")[1]
    assert re.findall(r"/why/(\w+)/", table) == ["charge"]


def test_what_may_not_wait_stands_above_and_can_be_logged_at_once(client_as, keeper, viewer, car):
    give_duties(car, charge=LATE, coolant=DUE)
    response = page(client_as(keeper))
    assert [line.duty for line in response.context["act_now"].lines] == ["charge"]
    assert f'href="/cars/{car.pk}/log/charge/?next=%2Fcollection%2F"' in response.content.decode()
    assert f"/cars/{car.pk}/log/" not in page(client_as(viewer)).content.decode()


def test_few_things_at_once_the_rest_is_counted(client_as, keeper, car):
    give_duties(car, **dict.fromkeys(list(DUTY_TITLES)[:9], LATE))
    response = page(client_as(keeper))
    assert (len(response.context["act_now"].lines), response.context["act_now"].more) == (5, 4)
    assert "4 more like these" in as_shown(response.content.decode())


@pytest.mark.parametrize("part", [part.code for part in PARTS if DUTIES_OF[part.code]])
def test_any_part_sorts_and_the_other_way_round(client_as, keeper, car, neighbour_car, part):
    duty = DUTIES_OF[part][0]
    give_duties(car, **{duty: NEXT_WEEK})
    give_duties(neighbour_car, **{duty: LATE})
    client = client_as(keeper)
    assert cars_in_order(page(client, f"?sort={part}")) == [neighbour_car.pk, car.pk]
    assert cars_in_order(page(client, f"?sort=-{part}")) == [car.pk, neighbour_car.pk]


def test_the_database_sorts_a_part_as_its_cells_read(barn, keeper, client_as, car):
    windows = [LATE, DUE, NEXT_WEEK, {"hold": "on stands"}, {}, {"window": (None, None, None)}]
    for number, window in enumerate(windows):
        give_duties(
            make_car(barn, car.owner, model=f"No. {number}"), coolant=window, engine_oil=windows[-1 - number]
        )
    give_duties(car)
    response = page(client_as(keeper), "?sort=fluids")
    order = [cells(response, shown.vehicle)["fluids"].line.order[:2] for shown in response.context["cars"]]
    assert order == sorted(order)
    assert len(order) == len(windows) + 1


def test_names_and_places_sort(client_as, keeper, car, neighbour_car):
    give_duties(car)
    give_duties(neighbour_car)
    client = client_as(keeper)
    response = page(client, "?sort=-name")
    assert cars_in_order(response) == cars_in_order(page(client, "?sort=name"))[::-1]
    assert 'aria-sort="descending"' in response.content.decode()
    assert cars_in_order(page(client, "?sort=place")) == [car.pk, neighbour_car.pk]  # A1, A2


def test_an_order_that_is_none_is_the_usual_one(client_as, keeper, car, neighbour_car):
    give_duties(car)
    give_duties(neighbour_car, charge=LATE)
    client = client_as(keeper)
    for query in ("", "?sort=zeppelin", "?sort=-", "?view=zeppelin", "?page=zeppelin"):
        assert cars_in_order(page(client, query)) == [neighbour_car.pk, car.pk]


@pytest.mark.parametrize("text", ["sixteen", "1971", "toller", "A2", "a2", "Wendlow long", "Hollin sixteen"])
def test_a_search_finds_by_name_owner_and_place(client_as, keeper, car, neighbour_car, text):
    cars = cars_in_order(page(client_as(keeper), f"?text={text}"))
    assert neighbour_car.pk in cars
    assert (car.pk in cars) == (text == "Wendlow long")


def test_only_what_wants_something_now(client_as, keeper, car, neighbour_car):
    give_duties(car, charge=NEXT_WEEK)
    give_duties(neighbour_car, charge=DUE)
    assert cars_in_order(page(client_as(keeper), "?show=pressing")) == [neighbour_car.pk]


def test_nothing_found_says_so_and_leads_back(client_as, keeper, car):
    html = page(client_as(keeper), "?text=zeppelin").content.decode()
    assert "No car fits" in html
    assert 'id="cars"' in html


def test_an_empty_barn_leads_on(client_as, keeper, viewer, barn):
    assert 'href="/cars/new/"' in page(client_as(keeper)).content.decode()
    assert 'href="/cars/new/"' not in page(client_as(viewer)).content.decode()


def test_an_owner_sees_their_own_cars_only(client_as, owner, car, neighbour_car):
    give_duties(car)
    give_duties(neighbour_car, charge=LATE)
    response = page(client_as(owner))
    assert cars_in_order(response) == [car.pk]
    assert response.context["act_now"].count == 0


def test_a_car_that_left_is_not_there(client_as, keeper, car, neighbour_car):
    neighbour_car.left_on = ago(3)
    neighbour_car.save()
    assert cars_in_order(page(client_as(keeper))) == [car.pk]


def test_a_warning_tag_is_shown_beside_the_name(client_as, keeper, car):
    write(car, keeper, "tag_opened", 3, details={"tag": "drained", "where": "gearbox"})
    assert "Fluid drained" in page(client_as(keeper)).content.decode()


@pytest.mark.parametrize("body", ["", *(row.code for row in BODIES)])
def test_each_kind_of_body_has_its_silhouette(client_as, keeper, car, body):
    car.body = body
    car.save()
    for query in ("", "?view=tiles"):
        html = page(client_as(keeper), query).content.decode()
        assert f'href="#body-{body or "plain"}"' in html
        assert f'<symbol id="body-{body or "plain"}"' in html


def test_a_barn_of_thousands_is_paged(client_as, keeper, car, barn, monkeypatch):
    monkeypatch.setattr("collection.due.views.collection.CARS_A_PAGE", 2)
    for number in range(4):
        make_car(barn, car.owner, model=f"No. {number}")
    first, second, third = (cars_in_order(page(client_as(keeper), f"?sort=name&page={n}")) for n in (1, 2, 3))
    assert (len(first), len(second), len(third)) == (2, 2, 1)
    assert not set(first) & set(second)


def test_two_cars_and_forty_ask_the_same_of_the_database(client_as, manager, keeper, barn, car):
    shed, client, counts = barn.sites.get().buildings.get(), client_as(manager), []
    for numbers in (range(2), range(2, SMALL - 2), range(SMALL - 2, 40)):
        for number in numbers:
            owner = Owner.objects.create(organisation=barn, name=f"Owner {number}")
            bay = Bay.objects.create(building=shed, row="Q", place=number + 1)
            one = make_car(barn, owner, bay, model=f"No. {number}")
            give_duties(one, charge=LATE, coolant=DUE)
            write(one, keeper, "tag_opened", 3, details={"tag": "drained", "where": "gearbox"})
        chain_missing()
        asked = {}
        for query in ("", "?view=tiles", "?sort=fluids", "?text=no", "?show=pressing"):
            page(client, query)
            with CaptureQueriesContext(connection) as queries:
                page(client, query)
            asked[query] = len(queries)
        counts.append(asked)
    two, many, forty = counts
    assert two == many
    assert all(forty[query] <= many[query] for query in many)  # what to measure first is asked of few cars
