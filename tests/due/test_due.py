"""The due page: every car and what is next, what does harm by waiting first."""

import re

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from collection.due.queries.cars_due import Wanted, duties_in_order
from collection.life.duties import lines_of, order_of
from collection.life.summaries import summarise
from collection.models import Owner, Site
from collection.permissions import Access
from tests.barn import TODAY, make_car
from tests.logbook import NOON, ago, ahead, give_duties, spoil

LATE = {"window": (ago(30), ago(20), ago(10))}
DUE = {"window": (ago(9), ago(2), ahead(6))}
THIS_MONTH = {"window": (ahead(3), ahead(9), ahead(25))}


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


def test_harm_now_comes_first_then_this_week_then_this_month(client_as, keeper, car, neighbour_car, barn):
    third = make_car(barn, car.owner, model="Third")
    give_duties(car, charge=THIS_MONTH)
    give_duties(neighbour_car, run_up=DUE)
    give_duties(third, coolant=LATE)
    assert cars_in_order(page(client_as(keeper))) == [third.pk, neighbour_car.pk, car.pk]


def test_each_car_has_one_row_with_its_most_urgent_duty_first(client_as, keeper, car):
    give_duties(car, charge=THIS_MONTH, run_up=LATE, coolant=DUE)
    response = page(client_as(keeper))
    (row,) = response.context["cars"]
    assert row.first.duty == "run_up"
    assert [line.duty for line in row.pressing] == ["coolant"], "what may wait is on the car's own page"


def test_within_a_state_harm_decides_and_age_does_not(client_as, keeper, car, neighbour_car):
    give_duties(car, axle_oil={"window": (ago(900), ago(800), ago(700))})
    give_duties(neighbour_car, coolant={"window": (ago(9), ago(2), ahead(3))})
    assert cars_in_order(page(client_as(keeper))) == [neighbour_car.pk, car.pk]


DAYS_AND_STATES = [
    (-400, "act_now"),
    (3, "act_now"),
    (4, "this_week"),
    (7, "this_week"),
    (8, "this_month"),
    (30, "this_month"),
    (31, "later"),
]


@pytest.mark.parametrize(("days", "state"), DAYS_AND_STATES)
def test_the_last_day_of_the_window_alone_decides_the_state(client_as, keeper, car, days, state):
    give_duties(car, charge={"window": (ago(500), ago(450), ahead(days))})
    line = next(line for line in lines_of(car, TODAY) if line.duty == "charge")
    assert line.state == state
    wanted = Wanted(duty="charge")
    (row,) = duties_in_order(Access(keeper, car.organisation, "staff"), wanted, TODAY, state=state)
    assert (row.rank, row.vehicle) == (order_of(state, "charge"), car), "the database says the same"


def test_what_may_wait_is_folded(client_as, keeper, car, neighbour_car):
    give_duties(car, charge=LATE)
    give_duties(neighbour_car)
    html = page(client_as(keeper)).content.decode()
    folded = html.split("<details", 1)[1].split("</details>")[0]
    assert "Later: 1 car" in folded
    assert "Sixteen" in folded
    assert "Twelve" not in folded


def test_a_car_of_which_nothing_is_known_is_to_be_looked_over(client_as, keeper, car, neighbour_car):
    give_duties(neighbour_car)
    response = page(client_as(keeper))
    assert cars_in_order(response) == [car.pk, neighbour_car.pk], "it never looks best"
    assert "? Unknown: look first 1962 Wendlow Twelve A1 Look it over" in text(response)
    assert f'href="/cars/{car.pk}/look-over/"' in response.content.decode()


def test_one_date_is_said_and_opens_its_reason(client_as, keeper, car):
    give_duties(car, charge={"window": (ahead(3), ahead(9), ahead(25))})
    response = page(client_as(keeper))
    assert "by Sun 20 Dec" in text(response)
    assert "Dec 2026" not in text(response)
    assert f'href="/cars/{car.pk}/why/charge/"' in response.content.decode()


def test_the_summary_counts_by_state(client_as, keeper, car, neighbour_car):
    give_duties(car, charge=LATE, run_up=DUE, coolant={"hold": "drained", **LATE})
    give_duties(
        neighbour_car,
        charge=LATE,
        inspection={"window": (ahead(1), ahead(7), ahead(9))},
        axle_oil={"unknown": True},
    )
    assert "2 to do now, 1 this week, 1 this month · 1 unknown, 1 on hold · 2 cars" in text(
        page(client_as(keeper))
    )


def test_states_are_told_by_word_and_shape(client_as, keeper, car):
    give_duties(car, charge=LATE)
    assert "◆ Act now" in text(page(client_as(keeper)))


def test_a_held_duty_is_shown_with_its_reason(client_as, keeper, car):
    give_duties(car, run_up={"hold": "preserved: never started", **LATE})
    shown = text(page(client_as(keeper)))
    assert "■ On hold" not in shown.split("Later")[0], "what is on hold presses nobody"
    assert "■ On hold Run-up Preserved: never started" in text(client_as(keeper).get(f"/cars/{car.pk}/"))


def test_what_rests_on_an_assumption_is_marked(client_as, keeper, car):
    give_duties(car, charge={"assumed": True, **LATE})
    assert "assumed" in text(page(client_as(keeper)))


def test_nothing_is_marked_as_assumed_without_need(client_as, keeper, car):
    give_duties(car, charge=LATE)
    assert "assumed" not in text(page(client_as(keeper)))


@pytest.mark.parametrize(
    ("query", "seen"),
    [
        ("?duty=charge&horizon=31", ["first"]),
        ("?duty=coolant&horizon=7", ["second"]),
        ("?duty=coolant", ["second", "first"]),
        ("?horizon=14", ["second"]),
        ("?duty=run_up&horizon=92", []),
    ],
)
def test_duty_and_horizon_narrow_the_list(client_as, keeper, car, neighbour_car, query, seen):
    give_duties(car, charge=THIS_MONTH)
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
    shown = text(page(client_as(keeper)))
    assert "1 car could not be worked out today" in shown
    assert f"as of {TODAY:%Y}" not in shown


def test_dates_of_yesterday_are_worked_out_anew_on_reading(client_as, keeper, car):
    give_duties(car, charge={"limit": "of yesterday", **LATE})
    car.duties.update(computed_for=ago(1))
    summarise([car.pk], TODAY)
    response = page(client_as(keeper))
    assert "of yesterday" not in response.content.decode()
    assert set(car.duties.values_list("computed_for", flat=True)) == {TODAY}


def test_an_empty_barn_says_what_to_do_next(client_as, manager):
    response = page(client_as(manager))
    assert "No car stands here yet" in text(response)
    assert 'href="/start/"' in response.content.decode()


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
