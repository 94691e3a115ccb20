"""A small invented site for the tests of the plan: fixed values, each test changes what it is about."""

from dataclasses import replace
from datetime import date

from scheduler.vocabulary.equipment import CHARGER, EXTRACTION, LIFT
from scheduler.week.repeat import task
from scheduler.week.request import Building, Car, Day, Person, PlanRequest
from scheduler.week.work import WORK

MONDAY = date(2026, 11, 30).toordinal()
ALL = frozenset(WORK)
ANN = Person("ann", "Ann", ALL)
BOB = Person("bob", "Bob", frozenset({"inspection", "charge", "tyre_pressure", "tyre_move"}))
HALL = Building("hall", "Hall", 1)
YARD = Building("yard", "Yard", 2, open_air=True)
GEAR = {CHARGER: 2, EXTRACTION: 1, LIFT: 1}


def day(n, ann=240, bob=0, **changes):
    """Day n from Monday, open 8 to 17 unless changed."""
    return replace(Day(MONDAY + n, 480, 1020, {"ann": ann, "bob": bob}, GEAR), **changes)


def car(key, position=1, **changes):
    return replace(Car(key, f"Car {key}", "hall", position), **changes)


def due(car_key, duty, early=0, at=2, late=4, **changes):
    """A task whose window is counted from Monday."""
    key = changes.pop("key", f"{car_key}/{duty}")
    return replace(task(key, car_key, duty, (MONDAY + early, MONDAY + at, MONDAY + late)), **changes)


def site(tasks, cars=None, days=None, **changes):
    """A request for five days with Ann at work, unless changed."""
    cars = cars or [car(k, i) for i, k in enumerate(sorted({t.car for t in tasks}))]
    days = days or [day(n) for n in range(5)]
    base = PlanRequest(
        tuple(days),
        tuple(tasks),
        tuple(cars),
        (HALL, YARD),
        (ANN, BOB),
        {("hall", "yard"): 5},
        visit_minutes=0,
        steps=150,
    )
    return replace(base, **changes)


def where(plan):
    """Task → days after Monday."""
    return {p.task: p.day - MONDAY for p in plan.placements}
