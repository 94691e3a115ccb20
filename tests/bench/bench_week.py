"""How good and how fast the plan is: visits, late days, the gap to a bound, processor.

Run: python -m tests.bench.bench_week [fortnight | 40 | 300 | exact 200 | organisation]
"""

import sys
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from datetime import date
from time import perf_counter, process_time

import numpy as np

from scheduler.vocabulary.equipment import CHARGER, EXTRACTION, LIFT
from scheduler.week.place import by_weeks
from scheduler.week.planner import plan
from scheduler.week.problem import problem_of
from scheduler.week.repeat import repeat, task
from scheduler.week.request import Building, Car, Day, Person, PlanRequest, Task
from scheduler.week.result import Score
from scheduler.week.work import WORK
from tests.scheduler.week.exact import exact, late_price, small_case
from tests.scheduler.week.foreman import foreman, late_days, visits
from tests.scheduler.week.rules import broken
from tests.scheduler.week.stored import demo_request, fortnight

TODAY = date(2026, 11, 25).toordinal()
DAYS = 84
ROW = 10  # bays a row
SMALL = 40  # cars up to which the bound is that of single days throughout
DAYS_ALONE = 14
ALL = frozenset(WORK)


def barn(cars: int, seed: int = 1, minutes_a_car: float = 5.0) -> PlanRequest:
    """An invented site: halls and a yard, every third bay behind another, a tenth overdue."""
    rng = np.random.default_rng(seed)
    houses = [Building(f"H{i}", f"Hall {i + 1}", i + 1) for i in range(max(cars // 120, 1))]
    houses.append(Building("Y", "Yard", 99, open_air=True))
    rows = [_car(i, cars, houses) for i in range(cars)]
    tasks = [t for car in rows for t in _tasks(car, rng, car.building == "Y")]
    hands = max(int(cars * minutes_a_car), 60)
    return PlanRequest(
        days=tuple(_day(d, hands, rng, cars) for d in range(DAYS)),
        tasks=tuple(tasks),
        cars=tuple(rows),
        buildings=tuple(houses),
        people=_people(hands),
        travel={(a.key, b.key): 5 for a in houses for b in houses if a.key < b.key},
    )


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
        ("inspection", 7 if outside else 30, 0.1, 1.0),
        ("charge", 75, 0.25, 0.7),
        ("run_up", 45, 0.3, 0.6),
        ("tyre_pressure", 60, 0.3, 1.0),
        ("tyre_move", 60, 0.3, 1.0),
        ("stabiliser", 300, 0.2, 0.4),
        ("engine_oil", 365, 0.1, 1.0),
        ("brake_fluid", 730, 0.1, 1.0),
        ("coolant", 1100, 0.1, 1.0),
        ("gearbox_oil", 730, 0.1, 0.7),
        ("axle_oil", 730, 0.1, 0.7),
    ]
    for duty, interval, width, share in rounds:
        due = TODAY + int(rng.uniform(-0.08, 1.0) * interval)
        if rng.random() < share and due < TODAY + DAYS:
            spread = max(int(width * interval), 1)
            first = task(f"{car.key}/{duty}", car.key, duty, (due - spread, due, due + spread))
            # windows that stay where they are: then the bound holds for the repeats too
            made += [replace(t, after="") for t in repeat(first, interval, TODAY, TODAY + DAYS - 1)]
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


def _goal(name: str, value: float, most: float) -> None:
    _say(f"  {name}: {value:.3g}, goal at most {most:.3g}: {'met' if value <= most else 'MISSED'}")


def _fortnight() -> None:
    """Visits no more than the foreman's; late days within 3 % of a plan that minds lateness alone."""
    request = fortnight(demo_request())
    used = process_time()
    made = plan(request)
    took = process_time() - used
    alone = replace(
        request,
        weights=replace(request.weights, visit=0, move=0, building=0, early_day=0, after_due_day=0, level=()),
    )
    hand, least = foreman(request), plan(alone)
    _say(f"a demo fortnight of {len(request.tasks)} tasks, {took:.1f} s of processor; rules broken:")
    _say(f"  {broken(request, made)}")
    for name, each in (("planned", made), ("foreman", hand), ("lateness alone", least)):
        _say(f"  {name:<15} visits {visits(each):4d}  late days {late_days(request, each):4d}")
    _goal("visits", visits(made), visits(hand))
    _goal("late days", late_days(request, made), 1.03 * late_days(request, least))


def _site(cars: int, most_gap: float) -> None:
    request = barn(cars)
    used = process_time()
    made = plan(request)
    took = process_time() - used
    days_alone = DAYS if cars <= SMALL else DAYS_ALONE
    bound = by_weeks(problem_of(request), days_alone)[1]
    _say(f"{cars} cars, {len(request.tasks)} tasks, 12 weeks; rules broken: {len(broken(request, made))}")
    _say(f"  {made.score}")
    _goal("gap to the bound", (made.score.cost - bound) / made.score.cost, most_gap)
    _goal("seconds of processor", took, 10)


def _exact(cases: int) -> None:
    """Small cases against the exact optimum: lateness the same, visits within one of the least."""
    late, more = 0, 0
    for seed in range(cases):
        request = small_case(seed)
        best, made = exact(request), plan(request)
        late += late_price(request, made) > best.lateness
        more += visits(made) > best.visits + 1
    _say(f"{cases} cases of up to 8 cars and 14 days: {late} later than the best, {more} over one visit more")


def _one(seed: int) -> tuple[Score, float]:
    used = process_time()
    return plan(barn(500, seed)).score, process_time() - used


def _organisation(sites: int = 20) -> None:
    begun = perf_counter()
    with ProcessPoolExecutor(2) as pool:
        done = list(pool.map(_one, range(sites)))
    scores = [s for s, _ in done]
    late, gap = sum(s.late_hours for s in scores), max(s.gap for s in scores)
    took, used = perf_counter() - begun, sum(c for _, c in done)
    _say(f"{sites} sites of 500 cars on 2 cores: {took:.0f} s, processor {used:.0f} s")
    _say(f"late {late:.0f} h, visits {sum(s.visits for s in scores)}, widest gap {gap:.1%}")


def _say(line: str) -> None:
    sys.stdout.write(line + "\n")


if __name__ == "__main__":
    asked = sys.argv[1] if sys.argv[1:] else "fortnight"
    if asked == "organisation":
        _organisation()
    elif asked == "exact":
        _exact(int(sys.argv[2]))
    elif asked == "fortnight":
        _fortnight()
    else:
        _site(int(asked), 0.08 if int(asked) <= SMALL else 0.15)
