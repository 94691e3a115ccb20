"""The reason behind a date: words, inputs and whence, equations, sources, assumptions, cautions."""

import json
import re
from datetime import date

import pytest
import time_machine

from collection.due.reasons import Assumption, assumed, format_value
from collection.life.duties import DUTY_TITLES
from collection.models import Battery
from collection.web.units import edge
from scheduler.vocabulary.duties import DUTY
from tests.logbook import NOON, ago, spoil, write

METRIC, AMERICAN = edge("metric"), edge("american")


@pytest.fixture(autouse=True)
def _today():
    with time_machine.travel(NOON, tick=False):
        yield


@pytest.fixture
def charged_car(car, keeper):
    Battery.objects.create(
        vehicle=car,
        chemistry="flooded_antimony",
        capacity_ah=60,
        volts=12,
        made_on=date(2024, 5, 1),
        installed_on=date(2024, 6, 1),
    )
    write(car, keeper, "charge", 40, details={"completed": True, "hours": 9})
    return car


def page(client, car, duty="charge"):
    response = client.get(f"/cars/{car.pk}/why/{duty}/")
    assert response.status_code == 200
    return response


def body(response):
    return response.content.decode()


@pytest.mark.parametrize("duty", DUTY_TITLES)
def test_every_duty_has_a_reason_even_for_a_car_of_which_little_is_known(client_as, keeper, car, duty):
    response = page(client_as(keeper), car, duty)
    reason = response.context["reason"]
    assert reason.summary
    assert response.context["inputs"]
    assert all(source.standing for source in reason.sources)
    assert response.context["line"].duty == duty


def test_the_reason_is_told_in_full(client_as, keeper, charged_car):
    response = page(client_as(keeper), charged_car)
    reason, html = response.context["reason"], body(response)
    for title in ("What went in", "How it is worked out", "Where the numbers come from"):
        assert title in html
    assert html.count('class="equation worked"') == sum(1 for step in reason.steps if step.worked)
    assert html.count('class="standing"') == len(reason.sources)


def test_each_input_says_where_it_is_from_and_of_which_day(client_as, keeper, charged_car):
    inputs = {row.basis: row for row in page(client_as(keeper), charged_car).context["inputs"]}
    assert inputs["care log"].on == ago(40)
    assert "record" in inputs
    assert "policy" in inputs


def test_what_was_assumed_leads_to_the_form_that_replaces_it(client_as, keeper, charged_car):
    response = page(client_as(keeper), charged_car)
    parts = {row.part for row in response.context["assumptions"]}
    assert "battery" in parts
    assert f'href="/cars/{charged_car.pk}/edit/battery/?next=' in body(response)


def test_the_curve_is_drawn_with_the_charge_as_a_point(client_as, keeper, charged_car):
    html = body(page(client_as(keeper), charged_car))
    figure = json.loads(re.search(r'<script id="figure-[^>]*json">(.*?)</script>', html).group(1))
    points = next(trace for trace in figure["data"] if trace.get("name") == "Charge or reading")
    assert (points["x"], points["y"]) == ([ago(40).isoformat()], [97.0])


def test_a_duty_without_a_curve_loads_no_chart_script(client_as, keeper, car):
    assert "plotly" not in body(page(client_as(keeper), car, "inspection"))


def test_the_caution_of_that_work_stands_on_the_page(client_as, keeper, car):
    assert "Carbon monoxide" in body(page(client_as(keeper), car, "run_up"))
    assert "Coolant is poison" in body(page(client_as(keeper), car, "coolant"))
    assert "Coolant is poison" not in body(page(client_as(keeper), car, "brake_fluid"))


def test_who_works_here_may_log_it_and_an_owner_only_reads(client_as, keeper, owner, charged_car):
    log = f'href="/cars/{charged_car.pk}/log/charge/?next=%2Fcars%2F{charged_car.pk}%2Fwhy%2Fcharge%2F"'
    assert log in body(page(client_as(keeper), charged_car))
    html = body(page(client_as(owner), charged_car))
    assert log not in html
    assert "/edit/" not in html


def test_a_held_duty_says_why_and_keeps_its_dates(client_as, keeper, car):
    car.regime = "preserved"
    car.save()
    response = page(client_as(keeper), car, "run_up")
    assert response.context["line"].hold
    assert response.context["line"].hold in body(response)


def test_the_reason_says_what_waiting_costs_and_what_ends_it(client_as, keeper, car):
    html = body(page(client_as(keeper), car, "tyre_pressure"))
    assert DUTY["tyre_pressure"].harm in html
    assert "What ends it" in html
    assert "Tyre pressures." in html


def test_volts_of_no_sound_battery_hold_the_charge_and_say_what_to_do_instead(client_as, keeper, charged_car):
    four_volts = {"quantity": "rested_volts", "value": 4.0, "rest_hours": 12}
    write(charged_car, keeper, "battery_reading", 2, readings=[four_volts])
    html = body(page(client_as(keeper), charged_car, "charge"))
    assert "do not charge it" in html
    assert "What ends it" not in html
    assert "charge it now" not in html
    assert "its battery reads like no sound one" in client_as(keeper).get("/due/").content.decode()


def test_a_record_that_cannot_be_read_is_told_as_it_is(client_as, keeper, car):
    spoil(car)
    html = body(page(client_as(keeper), car, "tyre_pressure"))
    assert "cannot be worked out from the record" in html
    assert "week" in html


def test_an_unknown_duty_and_another_barns_car_do_not_exist(client_as, keeper, car, foreign_car):
    client = client_as(keeper)
    assert client.get(f"/cars/{car.pk}/why/polish/").status_code == 404
    assert client.get(f"/cars/{foreign_car.pk}/why/charge/").status_code == 404


def test_an_owner_may_not_see_the_reasons_of_another_owners_car(client_as, owner, neighbour_car):
    assert client_as(owner).get(f"/cars/{neighbour_car.pk}/why/charge/").status_code == 404


@pytest.mark.parametrize(
    ("value", "unit", "reader", "words"),
    [
        (0.75, "1", METRIC, "75 %"),
        (0.75, "of full", METRIC, "75 % of full"),
        (-3.8, "°C", METRIC, "−3.8 °C"),
        (-40.0, "°C", AMERICAN, "−40 °F"),
        (200.0, "kPa", METRIC, "2 bar"),
        (220.63, "kPa", AMERICAN, "32 psi"),
        (float("nan"), "Ah", METRIC, "not known"),
        (date(2026, 12, 4), "", METRIC, "Fri 4 Dec 2026"),
        ("petrol E5", "", METRIC, "petrol E5"),
    ],
)
def test_inputs_stand_in_the_units_of_the_reader(value, unit, reader, words):
    assert format_value(value, unit, reader) == words


@pytest.mark.parametrize(
    ("text", "duty", "part"),
    [
        ("The key-off drain is not measured: taken as 10 mA.", "charge", "battery"),
        ("The tank's vent is not recorded.", "fuel_change", "car"),
        ("Nothing says when the oil was changed.", "engine_oil", "fluids"),
        ("The engine is taken as one of 2 litres.", "run_up", "car"),
        ("The last engine run is not recorded.", "run_up", "last"),
        ("It is not known.", "tyre_move", "tyres"),
    ],
)
def test_an_assumption_points_to_the_part_of_the_record_that_it_speaks_of(text, duty, part):
    (assumption,) = assumed([text], duty)
    assert isinstance(assumption, Assumption)
    assert assumption.part == part
