"""The exact optimum of a small site: least lateness, then fewest visits, by branch and bound over the days.

A programme in whole numbers of its own: only what each task may, and each day's hours. What a day's
timetable cannot hold is forbidden, and the programme solved again, until it can.
"""

from dataclasses import dataclass

import highspy
import numpy as np

from scheduler.week.means import means_of
from scheduler.week.prices import lateness
from scheduler.week.problem import Bar, Problem, problem_of
from scheduler.week.request import PlanRequest
from scheduler.week.result import Plan
from scheduler.week.timetable import fits
from scheduler.week.weights import Weights
from tests.scheduler.week.site import car, day, due, site

CASE_DAYS = 14
ROUNDS = 40
DUTIES = (
    "inspection",
    "charge",
    "tyre_pressure",
    "tyre_move",
    "run_up",
    "coolant",
    "brake_fluid",
    "stabiliser",
)


@dataclass(frozen=True)
class Optimum:
    """The least price of lateness, and with it the fewest visits."""

    lateness: int
    visits: int


def small_case(seed: int) -> PlanRequest:
    """Up to eight cars, two weeks with a weekend off, short hours, level days not asked for; some is late."""
    rng = np.random.default_rng(seed)
    cars = [car(f"c{i}", i) for i in range(int(rng.integers(3, 9)))]
    days = [
        day(n, ann=int(rng.choice([90, 120, 180])), closed="weekend" if n % 7 > 4 else "")
        for n in range(CASE_DAYS)
    ]
    tasks = []
    for one in cars:
        for duty in rng.choice(DUTIES, int(rng.integers(2, 5)), replace=False):
            at = int(rng.integers(-6, CASE_DAYS))
            width = int(rng.integers(1, 8))
            tasks.append(due(one.key, str(duty), early=at - width, at=at, late=at + width))
    return site(tasks, cars, days, steps=4_000, weights=Weights(level=(), building=0))


def late_price(request: PlanRequest, plan: Plan) -> int:
    """The price of a plan's lateness alone, late days as the weights price them."""
    at = {p.task: p.day - request.days[0].day for p in plan.placements}
    prices = _late(request)
    return sum(prices[t][at.get(task.key, len(request.days))] for t, task in enumerate(request.tasks))


def _late(request: PlanRequest) -> list[list[int]]:
    """By task and day, the last column for no place at all."""
    w, first, days = request.weights, request.days[0].day, len(request.days)
    made = []
    for task in request.tasks:
        after = np.arange(first, first + days) - task.late
        sunk = int(lateness(np.array(first - 1 - task.late), w.late_days))
        cost = lateness(after, w.late_days) - sunk + w.late * ((after > 0) & (task.late >= first - 1))
        missing = w.unplaced + int(cost[-1]) if task.late <= first + days - 1 else w.put_off
        made.append([*(int(c) for c in cost), missing])
    return made


def exact(request: PlanRequest) -> Optimum:
    """Least lateness, then fewest visits; ValueError: not found within the rounds."""
    problem, prices = problem_of(request), _late(request)
    days, cars = len(request.days), len(problem.cars)
    put = {
        (t, d): i
        for i, (t, d) in enumerate(
            (t, d) for t in range(len(problem.tasks)) for d in range(days) if problem.bar[t, d] == Bar.OPEN
        )
    }
    seen = {(c, d): len(put) + c * days + d for c in range(cars) for d in range(days)}
    solver = highspy.Highs()
    solver.setOptionValue("output_flag", False)
    solver.setOptionValue("threads", 1)
    for _ in range(len(put) + len(seen)):
        solver.addVar(0, 1)
        solver.changeColIntegrality(solver.getNumCol() - 1, highspy.HighsVarType.kInteger)
    for t in range(len(problem.tasks)):
        _row(solver, 1, {put[t, d]: 1.0 for d in range(days) if (t, d) in put})
    _visits(solver, problem, put, seen)
    for d in range(days):
        hours = {put[t, d]: float(problem.minutes[t]) for t in range(len(problem.tasks)) if (t, d) in put}
        _row(solver, float(problem.crew.minutes[:, d].sum()), hours)
    _ahead(solver, problem, put)
    late = {i: float(prices[t][d] - prices[t][days]) for (t, d), i in put.items()}
    constant = sum(row[days] for row in prices)
    # a visit costs less than any lateness: all visits together less than a day's
    weight = {i: price * 1.0 for i, price in late.items()} | dict.fromkeys(seen.values(), 0.5)
    for i in range(len(put) + len(seen)):
        solver.changeColCost(i, weight[i])
    for _ in range(ROUNDS):
        solver.run()
        x = np.array(solver.getSolution().col_value) > 0.5
        if not _forbid(solver, problem, put, x):
            opened = {(int(problem.car[t]), d) for (t, d), i in put.items() if x[i]}
            return Optimum(round(sum(late[i] for i in put.values() if x[i])) + constant, len(opened))
    raise ValueError("not found within the rounds")


def _forbid(solver: highspy.Highs, problem: Problem, put: dict[tuple[int, int], int], x: np.ndarray) -> bool:
    """Forbid what a day's timetable cannot hold; whether there was any."""
    bad = False
    for d in range(problem.cost.shape[1]):
        on = [t for t in range(len(problem.tasks)) if (t, d) in put and x[put[t, d]]]
        if not fits(problem, on, means_of(problem, d)):
            _row(solver, len(on) - 1, {put[t, d]: 1.0 for t in on})
            bad = True
    return bad


def _visits(
    solver: highspy.Highs,
    problem: Problem,
    put: dict[tuple[int, int], int],
    seen: dict[tuple[int, int], int],
) -> None:
    for (t, d), i in put.items():
        cars_of = [int(problem.car[t]), *(problem.front[problem.car[t]] if problem.moves[t] else ())]
        for c in cars_of:
            _row(solver, 0, {i: 1.0, seen[c, d]: -1.0})


def _ahead(solver: highspy.Highs, problem: Problem, put: dict[tuple[int, int], int]) -> None:
    days = problem.cost.shape[1]
    for first, then in problem.ahead:
        for d in range(days):
            by = {put[then, x]: 1.0 for x in range(d + 1) if (then, x) in put}
            after = {put[first, x]: 1.0 for x in range(d + 1, days) if (first, x) in put}
            if by and after:
                _row(solver, 1, by | after)


def _row(solver: highspy.Highs, upper: float, entries: dict[int, float]) -> None:
    solver.addRow(
        -highspy.kHighsInf,
        upper,
        len(entries),
        np.array(list(entries), dtype=np.int32),
        np.array(list(entries.values())),
    )
