"""A list of cars is each car's own answer, whatever stands beside it and in whatever order."""

import random

from scheduler import forecast
from tests.scheduler.command.cars import ON, some_cars

CARS = 16


def test_a_list_of_cars_gives_each_what_it_gets_alone():
    cars = some_cars(seed=3, count=CARS)
    assert len({str(car["facts"]) for car in cars}) > CARS / 2
    assert forecast(cars, on=ON) == [forecast(car, on=ON)[0] for car in cars]


def test_the_order_of_cars_does_not_matter():
    cars = some_cars(seed=4, count=CARS)
    mixed = random.Random(5).sample(cars, CARS)  # noqa: S311 - of cars
    there, here = ({answer["id"]: answer for answer in forecast(each, on=ON)} for each in (cars, mixed))
    assert here == there


def test_facts_of_one_day_count_in_the_order_of_the_list():
    [car] = some_cars(seed=6, count=1)
    first = {"on": "2026-11-01", "kind": "battery_fitted", "chemistry": "agm", "capacity_ah": 60}
    second = {"on": "2026-11-01", "kind": "battery_fitted", "chemistry": "gel", "capacity_ah": 60}
    one, other = ({**car, "facts": [*facts]} for facts in ((first, second), (second, first)))
    duties, turned = (forecast(each, on=ON)[0]["duties"] for each in (one, other))
    assert any("gel battery" in duty["because"] for duty in duties)
    assert any("AGM battery" in duty["because"] for duty in turned)


def test_facts_may_stand_in_any_order_of_days():
    car = max(some_cars(seed=7, count=8), key=lambda car: len(car["facts"]))
    each_on_its_day = list({fact["on"]: fact for fact in car["facts"] if "tag" not in fact}.values())
    assert len(each_on_its_day) > 5
    turned = [
        {**car, "facts": sorted(each_on_its_day, key=lambda fact: fact["on"], reverse=way)} for way in (0, 1)
    ]
    assert forecast(turned[0], on=ON) == forecast(turned[1], on=ON)
