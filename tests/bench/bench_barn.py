"""Two years of a barn of forty cars worked by its own plans, beside the same two years by the foreman's rule.

Sickness, storms and readings that surprise fall on both alike, each known on its morning only.
Run: python -m tests.bench.bench_barn [days]
"""

import sys
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date
from time import process_time

import numpy as np

from scheduler.vocabulary.equipment import CHARGER, EXTRACTION, LIFT
from scheduler.week.planner import plan
from scheduler.week.repeat import task
from scheduler.week.request import Before, Building, Car, Day, Person, PlanRequest, Task
from scheduler.week.result import Plan
from scheduler.week.work import WORK
from tests.scheduler.week.foreman import foreman, visits

TODAY, DAYS, CARS, AHEAD = date(2026, 11, 30).toordinal(), 730, 40, 14
STEPS = 400
ROUNDS = {  # duty: days between, and the share of them by which it may be early or late
    "inspection": (14, 0.25),
    "charge": (75, 0.25),
    "run_up": (45, 0.3),
    "tyre_pressure": (60, 0.3),
    "tyre_move": (60, 0.3),
    "engine_oil": (365, 0.1),
    "brake_fluid": (730, 0.1),
    "coolant": (1100, 0.1),
}
SICK, STORM, SURPRISE = 0.04, 0.05, 0.06
SURPRISES = ("charge", "tyre_pressure")  # what a look at a car may show to be due within the week
Rule = Callable[[PlanRequest], Plan]


@dataclass
class Told:
    """What the two years cost: car-days with something late, visits, minutes, processor."""

    late: int = 0
    visits: int = 0
    minutes: int = 0
    seconds: float = 0.0


def world(rule: Rule, days: int) -> Told:
    """The barn under one rule; the same weather, sickness and surprises under each."""
    cars = [
        Car(f"C{i}", f"Car {i}", "Y" if i >= CARS - 8 else "H", i, "", (f"C{i - 1}",) if i % 3 == 2 else ())
        for i in range(CARS)
    ]
    start = np.random.default_rng(7)
    due = {
        (car.key, duty): TODAY + int(start.uniform(-0.05, 1) * gap)
        for car in cars
        for duty, (gap, _) in ROUNDS.items()
    }
    soon: dict[tuple[str, str], int] = {}
    before: dict[str, Before] = {}
    told = Told()
    for n in range(days):
        today = TODAY + n
        if date.fromordinal(today).weekday() < 5:
            request = _request(today, cars, due, soon, before)
            used = process_time()
            made = rule(request)
            told.seconds += process_time() - used
            now = [p for p in made.placements if p.day == today]
            moves = [m for m in made.moves if m.day == today]
            opened = visits(replace(made, placements=tuple(now), moves=tuple(moves)))
            told.visits += opened
            told.minutes += request.visit_minutes * opened + sum(m.minutes for m in moves)
            told.minutes += sum(p.minutes for p in now if not p.by_moving)
            for p in now:
                due[p.car, p.duty] = today + ROUNDS[p.duty][0]
                soon.pop((p.car, p.duty), None)
                _surprise(p.car, today, due, soon)
            before = {p.task: Before(p.day, p.person) for p in made.placements if p.day > today}
        told.late += len(
            {car for (car, duty), at in due.items() if today > _window(at, duty, soon.get((car, duty)))[2]}
        )
    return told


def _surprise(
    car: str, today: int, due: dict[tuple[str, str], int], soon: dict[tuple[str, str], int]
) -> None:
    luck = np.random.default_rng([today, int(car[1:])])
    if luck.random() < SURPRISE:
        duty = str(luck.choice(SURPRISES))
        if due[car, duty] > today + 5:
            due[car, duty], soon[car, duty] = today + 3, today + 7


def _window(at: int, duty: str, late: int | None) -> tuple[int, int, int]:
    gap, share = ROUNDS[duty]
    width = max(int(gap * share), 1)
    return (at - 3, at, late) if late is not None else (at - width, at, at + width)


def _request(
    today: int,
    cars: list[Car],
    due: dict[tuple[str, str], int],
    soon: dict[tuple[str, str], int],
    before: dict[str, Before],
) -> PlanRequest:
    tasks: list[Task] = []
    for (car, duty), at in due.items():
        window = _window(at, duty, soon.get((car, duty)))
        if window[0] < today + AHEAD:
            tasks.append(task(f"{car}/{duty}", car, duty, window))
    people = (
        Person("A", "Ann", frozenset(WORK)),
        Person("B", "Bob", frozenset(set(WORK) - {"brake_fluid", "engine_oil"})),
    )
    return PlanRequest(
        days=tuple(_day(today + k, k == 0) for k in range(AHEAD)),
        tasks=tuple(tasks),
        cars=tuple(cars),
        buildings=(Building("H", "Hall", 1), Building("Y", "Yard", 2, open_air=True)),
        people=people,
        travel={("H", "Y"): 5},
        previous=before,
        steps=STEPS,
    )


def _day(day: int, is_today: bool) -> Day:
    """A day; who is sick and whether it storms is known on the day itself only."""
    luck = np.random.default_rng(day)
    sick, storm = luck.random(2) < SICK, bool(luck.random() < STORM)
    week = date.fromordinal(day).weekday()
    usual = {"A": 150, "B": 120 if week % 2 else 0}
    staff = {who: 0 if is_today and ill else usual[who] for who, ill in zip("AB", sick, strict=True)}
    gear = {CHARGER: 2, EXTRACTION: 1, LIFT: 1}
    return Day(day, 480, 1020, staff, gear, "weekend" if week > 4 else "", storm=is_today and storm)


def _main(days: int) -> None:
    by_plan, by_hand = world(plan, days), world(lambda request: foreman(request, 1), days)
    for name, told in (("planned", by_plan), ("foreman", by_hand)):
        sys.stdout.write(
            f"{name:<8} {days} days: late car-days {told.late}, visits {told.visits}, "
            f"hours {told.minutes / 60:.0f}, processor {told.seconds:.0f} s\n"
        )
    pairs = (
        (by_plan.late, by_hand.late),
        (by_plan.visits, by_hand.visits),
        (by_plan.minutes, by_hand.minutes),
    )
    worse, better = sum(a > b for a, b in pairs), sum(a < b for a, b in pairs)
    met = "met" if not worse and better > 1 else "MISSED"
    sys.stdout.write(f"worse on {worse}, better on {better}; goal none and two: {met}\n")


if __name__ == "__main__":
    _main(int(sys.argv[1]) if sys.argv[1:] else DAYS)
