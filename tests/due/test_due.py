"""The due page: every car and what is next, late first."""

import re

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from collection.life.summaries import summarise
from collection.models import Owner, Site
from tests.barn import TODAY, make_car
from tests.logbook import NOON, ago, ahead, give_duties, spoil

LATE = {"window": (ago(30), ago(20), ago(10))}
DUE = {"window": (ago(9), ago(2), ahead(9))}
NEXT_WEEK = {"window": (ahead(3), ahead(9), ahead(25))}


@pytest.fixture(autouse=True)
def _today():
    with time_machine.travel(NOON, tick=False):
        yield


def page(client, query=""):
    response = client.get(f"/due/{query}")
    assert response.status_code == 200
    return response


def text(response):
    """The page's words, tags and spare space taken out."""
    body = re.sub(r"<[^>]*>", " ", response.content.decode().split("<main", 1)[1])
    return re.sub(r"\s+([,;.)])", r"\1", re.sub(r"\s+", " ", body))


def cars_in_order(response):
    return [car.vehicle.pk for car in response.context["cars"]]


def test_late_comes_first_then_what_is_due_then_by_date(client_as, keeper, car, neighbour_car, barn):
    third = make_car(barn, car.owner, model="Third")
    give_duties(car, charge=NEXT_WEEK)
    give_duties(neighbour_car, run_up=DUE)
    give_duties(third, coolant=LATE)
    assert cars_in_order(page(client_as(keeper))) == [third.pk, neighbour_car.pk, car.pk]


def test_each_car_has_one_row_with_its_most_urgent_duty_first(client_as, keeper, car):
    give_duties(car, charge=NEXT_WEEK, run_up=LATE, coolant=DUE)
    response = page(client_as(keeper))
    (row,) = response.context["cars"]
    assert row.first.duty == "run_up"
    assert [line.duty for line in row.pressing] == ["coolant", "charge"]
    assert len(row.rest) == 9


def test_the_window_is_said_plainly_and_opens_its_reason(client_as, keeper, car):
    give_duties(car, charge={"window": (ahead(3), ahead(9), ahead(25))})
    response = page(client_as(keeper))
    said = "due Fri 4 Dec 2026, in 9 days; between Sat 28 Nov 2026 and Sun 20 Dec 2026"
    assert said in text(response)
    assert f'href="/cars/{car.pk}/why/charge/"' in response.content.decode()


def test_the_summary_counts_late_due_this_week_and_held(client_as, keeper, car, neighbour_car):
    give_duties(car, charge=LATE, run_up=DUE, coolant={"hold": "drained", **LATE})
    give_duties(neighbour_car, charge=LATE, inspection={"window": (ahead(1), ahead(7), ahead(9))})
    assert "2 late, 2 due this week, 1 held" in text(page(client_as(keeper)))


def test_states_are_told_by_word_and_shape(client_as, keeper, car):
    give_duties(car, charge=LATE)
    assert "◆ Late" in text(page(client_as(keeper)))


def test_a_held_duty_is_shown_with_its_reason(client_as, keeper, car):
    give_duties(car, run_up={"hold": "preserved: never started", **LATE})
    said = text(page(client_as(keeper)))
    assert "■ Held Run-up preserved: never started" in said


def test_what_rests_on_an_assumption_is_marked(client_as, keeper, car):
    give_duties(car, charge={"assumed": True, **LATE})
    assert "assumed" in text(page(client_as(keeper)))


def test_nothing_is_marked_as_assumed_without_need(client_as, keeper, car):
    give_duties(car, charge=LATE)
    assert "assumed" not in text(page(client_as(keeper)))


@pytest.mark.parametrize(
    ("query", "seen"),
    [
        ("?duty=charge&horizon=14", ["first"]),
        ("?duty=coolant&horizon=7", ["second"]),
        ("?duty=coolant", ["second", "first"]),
        ("?horizon=14", ["second", "first"]),
        ("?duty=run_up&horizon=92", []),
    ],
)
def test_duty_and_horizon_narrow_the_list(client_as, keeper, car, neighbour_car, query, seen):
    give_duties(car, charge=NEXT_WEEK)
    give_duties(neighbour_car, coolant=DUE)
    names = {car.pk: "first", neighbour_car.pk: "second"}
    assert [names[pk] for pk in cars_in_order(page(client_as(keeper), query))] == seen


def test_one_owner_alone(client_as, keeper, car, neighbour_car):
    give_duties(car, charge=LATE)
    give_duties(neighbour_car, charge=LATE)
    assert cars_in_order(page(client_as(keeper), f"?owner={car.owner_id}")) == [car.pk]


def test_a_site_is_asked_for_only_where_there_are_two(client_as, keeper, barn, car):
    give_duties(car, charge=LATE)
    assert 'name="site"' not in page(client_as(keeper)).content.decode()
    hollin = barn.sites.get()
    other = Site.objects.create(organisation=barn, name="Upper", climate=hollin.climate)
    assert 'name="site"' in page(client_as(keeper)).content.decode()
    assert cars_in_order(page(client_as(keeper), f"?site={other.pk}")) == []
    assert cars_in_order(page(client_as(keeper), f"?site={hollin.pk}")) == [car.pk]


@pytest.mark.parametrize("query", ["?owner=999999", "?duty=polish", "?horizon=-1", "?owner=x"])
def test_a_choice_that_does_not_exist_is_told_and_hides_nothing(client_as, keeper, car, neighbour_car, query):
    give_duties(car, charge=LATE)
    give_duties(neighbour_car, charge=LATE)
    response = page(client_as(keeper), query)
    assert 'class="fault"' in response.content.decode()
    assert len(cars_in_order(response)) == 2


def test_another_organisations_owner_is_no_choice(client_as, keeper, car, neighbour_car, foreign_car):
    give_duties(car, charge=LATE)
    response = page(client_as(keeper), f"?owner={foreign_car.owner_id}")
    assert 'class="fault"' in response.content.decode()


def test_an_owner_sees_only_their_own_cars(client_as, owner, car, neighbour_car):
    give_duties(car, charge=LATE)
    give_duties(neighbour_car, charge=LATE)
    response = page(client_as(owner))
    assert cars_in_order(response) == [car.pk]
    assert "Bram Toller" not in response.content.decode()


def test_a_car_that_left_storage_is_not_due(client_as, keeper, car):
    give_duties(car, charge=LATE)
    car.left_on = ago(1)
    car.save()
    assert cars_in_order(page(client_as(keeper))) == []


def test_old_dates_are_said_to_be_old(client_as, keeper, car, neighbour_car):
    give_duties(neighbour_car, charge=LATE)
    spoil(car)
    said = text(page(client_as(keeper)))
    assert "1 car could not be worked out today" in said
    assert f"as of {TODAY:%Y}" not in said


def test_dates_of_yesterday_are_worked_out_anew_on_reading(client_as, keeper, car):
    give_duties(car, charge={"limit": "of yesterday", **LATE})
    car.duties.update(computed_for=ago(1))
    summarise([car.pk], TODAY)
    response = page(client_as(keeper))
    assert "of yesterday" not in response.content.decode()
    assert set(car.duties.values_list("computed_for", flat=True)) == {TODAY}


def test_an_empty_barn_says_what_to_do_next(client_as, manager):
    response = page(client_as(manager))
    assert "No car has dates yet" in text(response)
    assert 'href="/cars/new/"' in response.content.decode()


def test_an_empty_answer_leads_back_to_every_car(client_as, keeper, car):
    give_duties(car, charge=LATE)
    assert "Nothing is due in what you asked for" in text(page(client_as(keeper), "?duty=axle_oil&horizon=7"))


def test_the_number_of_queries_does_not_grow_with_the_cars(client_as, keeper, barn, car, neighbour_car):
    client = client_as(keeper)
    for vehicle in (car, neighbour_car):
        give_duties(vehicle, charge=LATE)
    page(client)
    with CaptureQueriesContext(
        connection,
    ) as few:
        page(client)
    for number in range(18):
        another = Owner.objects.create(organisation=barn, name=f"Owner {number}")
        give_duties(make_car(barn, another, model=f"No. {number}"), charge=LATE)
    with CaptureQueriesContext(connection) as many:
        response = page(client)
    assert len(cars_in_order(response)) == 20
    assert len(many) == len(few)


def test_it_only_reads(client_as, keeper):
    assert client_as(keeper).post("/due/").status_code == 405
