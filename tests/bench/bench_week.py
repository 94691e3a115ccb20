"""How good and how fast the plan is, against the naive order (by due date).

Run: python -m tests.bench.bench_week [small|site|organisation]
"""

from datetime import date

import numpy as np

from scheduler.week.repeat import repeat, task
from scheduler.week.request import Building, Car, Day, Person, PlanRequest, Task
from scheduler.week.work import BY_DUTY, CHARGER, EXTRACTION, LIFT

TODAY = date(2026, 11, 25).toordinal()
DAYS = 84
ROW = 10  # bays a row
ALL = frozenset(BY_DUTY)


def barn(cars: int, seed: int = 1, minutes_a_car: float = 5.0, seconds: float = 8.0) -> PlanRequest:
    """An invented site: halls and a yard, every third bay behind another, a tenth overdue."""
    rng = np.random.default_rng(seed)
    houses = [Building(f"H{i}", f"Hall {i + 1}", i + 1) for i in range(max(cars // 120, 1))]
    houses.append(Building("Y", "Yard", 99, open_air=True))
    rows = [_car(i, cars, houses) for i in range(cars)]
    tasks = [t for car in rows for t in _tasks(car, rng, car.building == "Y")]
    hands = max(int(cars * minutes_a_car), 60)
    return PlanRequest(
        days=tuple(_day(d, hands, rng, cars) for d in range(DAYS)), tasks=tuple(tasks), cars=tuple(rows),
        buildings=tuple(houses), people=_people(hands), seconds=seconds,
        travel={(a.key, b.key): 5 for a in houses for b in houses if a.key < b.key},
    )  # fmt: skip


def _people(hands: int) -> tuple[Person, ...]:
    count = -(-hands // 420)
    skilled = ALL
    plain = frozenset({"inspection", "charge", "tyre_pressure", "tyre_move", "stabiliser", "run_up"})
    return tuple(Person(f"P{i}", f"Person {i}", skilled if i % 2 == 0 else plain) for i in range(count))


def _car(i: int, cars: int, houses: list[Building]) -> Car:
    house = houses[min(i * len(houses) // cars, len(houses) - 1)]
    behind = i % 3 == 2 and i % ROW > 0
    return Car(f"C{i}", f"Car {i}", house.key, i, f"{i // ROW}-{i % ROW}", (f"C{i - 1}",) if behind else ())


def _tasks(car: Car, rng: np.random.Generator, outside: bool) -> list[Task]:
    made: list[Task] = []
    rounds = [
        ("inspection", 7 if outside else 30, 0.1, 1.0), ("charge", 75, 0.25, 0.7), ("run_up", 45, 0.3, 0.6),
        ("tyre_pressure", 60, 0.3, 1.0), ("tyre_move", 60, 0.3, 1.0), ("stabiliser", 300, 0.2, 0.4),
        ("engine_oil", 365, 0.1, 1.0), ("brake_fluid", 730, 0.1, 1.0), ("coolant", 1100, 0.1, 1.0),
        ("gearbox_oil", 730, 0.1, 0.7), ("axle_oil", 730, 0.1, 0.7),
    ]  # fmt: skip
    for duty, interval, width, share in rounds:
        due = TODAY + int(rng.uniform(-0.08, 1.0) * interval)
        if rng.random() < share and due < TODAY + DAYS:
            spread = max(int(width * interval), 1)
            first = task(f"{car.key}/{duty}", car.key, duty, (due - spread, due, due + spread))
            made += repeat(first, interval, TODAY, TODAY + DAYS - 1)
    return made


def _day(d: int, hands: int, rng: np.random.Generator, cars: int) -> Day:
    when = date.fromordinal(TODAY + d)
    closed = (
        "weekend" if when.weekday() > 4 else "holiday" if (when.month, when.day) in {(12, 25), (1, 1)} else ""
    )
    people = -(-hands // 420)
    low, storm = float(rng.normal(0, 4)), bool(rng.random() < 0.04)
    gear = {CHARGER: max(cars // 30, 1), EXTRACTION: max(cars // 150, 1), LIFT: max(cars // 200, 1)}
    staff = {f"P{i}": hands // people for i in range(people)}
    return Day(TODAY + d, 8 * 60, 17 * 60, staff, gear, closed, low, storm)
