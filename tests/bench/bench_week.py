"""How good and how fast the plan is, against the naive order (by due date).

Run: python -m tests.bench.bench_week [small|site|organisation]
"""

import sys
from concurrent.futures import ProcessPoolExecutor
from datetime import date
from time import perf_counter, process_time

import numpy as np

from scheduler.vocabulary.equipment import CHARGER, EXTRACTION, LIFT
from scheduler.week.means import means_of
from scheduler.week.order import Orders
#from scheduler.week.place import Placing
#from scheduler.week.planner import plan
from scheduler.week.problem import Bar, problem_of
from scheduler.week.repeat import repeat, task
from scheduler.week.request import Building, Car, Day, Person, PlanRequest, Task
from scheduler.week.result import Score
#from scheduler.week.score import score
from scheduler.week.timetable import timetable
from scheduler.week.work import WORK
#from tests.scheduler.week.rules import broken

TODAY = date(2026, 11, 25).toordinal()
DAYS = 84
ROW = 10  # bays a row
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


def naive(request: PlanRequest) -> Score:
    """By due date: each day takes from the top of the list what is open and fits, and no more thought."""
    problem = problem_of(request)
    count = problem.cost.shape[1]
    placing = Placing(problem, np.full(len(problem.tasks), -1), 0.0, Orders(problem))
    queue = sorted(range(len(problem.tasks)), key=lambda t: (problem.tasks[t].due, problem.tasks[t].rank))
    for d in range(count):
        room = int(problem.crew.minutes[:, d].sum())
        for t in queue:
            moving = request.move_minutes * (1 + len(problem.front[problem.car[t]])) * bool(problem.moves[t])
            asked = int(problem.minutes[t]) + moving
            wanted = placing.day_of[t] < 0 and problem.bar[t, d] == Bar.OPEN and asked <= room
            if wanted and placing.orders.allows(t, placing.day_of, np.ones(count, dtype=np.int64))[d]:
                placing.day_of[t], room = d, room - asked
        placing.day_of[list(timetable(problem, placing.on(d), means_of(problem, d)).left)] = -1
    return score(placing, 0.0)


def _line(name: str, s: Score) -> str:
    return (
        f"{name:<8} late {s.late_hours:7.1f} h ({s.late_tasks} tasks, {s.unplaced} without a place)  "
        f"visits {s.visits:6d}  moves {s.moves:5d}  busiest day {s.busiest_share:4.0%}  "
        f"spread {s.spread_share:6.3f}  cost {s.cost:8d}"
    )


def _site(cars: int) -> None:
    request = barn(cars)
    begun, used = perf_counter(), process_time()
    made = plan(request)
    _say(f"{cars} cars, {len(request.tasks)} tasks, 12 weeks; rules broken: {len(broken(request, made))}")
    _say(_line("by due", naive(request)))
    _say(_line("planned", made.score))
    took = f"{perf_counter() - begun:.1f} s with the naive plan, {made.score.seconds:.1f} s alone"
    _say(
        f"gap to the bound {made.score.gap:.1%}; {took}, {process_time() - used:.1f} s of processor for both"
    )


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
    if "organisation" in sys.argv[1:]:
        _organisation()
    else:
        _site(30 if "small" in sys.argv[1:] else 300)
