"""What a choice of days costs, in the prices of the request; the measure that every step shares."""

from dataclasses import replace

import numpy as np

from scheduler.week.prices import cost_of, unplaced_cost
from scheduler.week.problem import Bools, Ints, Problem
from scheduler.week.request import Task

NOWHERE = -1


def moved(problem: Problem, day_of: Ints) -> Bools:
    """Which cars roll on which day, (m, D): those whose task needs it and all in front of them."""
    rolls = np.zeros((len(problem.cars), problem.cost.shape[1]), dtype=np.bool_)
    going = np.flatnonzero(problem.moves & (day_of != NOWHERE))
    for i in going:
        c = int(problem.car[i])
        rolls[[c, *problem.front[c]], day_of[i]] = True
    return rolls


def visited(problem: Problem, day_of: Ints, rolls: Bools) -> Bools:
    """Which cars are opened on which day, (m, D)."""
    placed = np.flatnonzero(day_of != NOWHERE)
    seen = rolls.copy()
    seen[problem.car[placed], day_of[placed]] = True
    return seen


def loads(problem: Problem, day_of: Ints, rolls: Bools) -> Ints:
    """Minutes of hands on each day, the way between buildings left out, (D,)."""
    placed = np.flatnonzero(day_of != NOWHERE)
    hands = np.bincount(day_of[placed], problem.minutes[placed], problem.cost.shape[1])
    request, seen = problem.request, visited(problem, day_of, rolls)
    walking = request.move_minutes * rolls.sum(axis=0) + request.visit_minutes * seen.sum(axis=0)
    return np.asarray(hands.astype(np.int64) + walking)


def worth(problem: Problem, day_of: Ints) -> int:
    """The price of putting each task on its day position (NOWHERE: not at all), shape (n,)."""
    w = problem.request.weights
    rolls = moved(problem, day_of)
    seen = visited(problem, day_of, rolls)
    houses = np.zeros((len(problem.request.buildings), seen.shape[1]), dtype=np.bool_)
    np.logical_or.at(houses, problem.building, seen)
    load, available = loads(problem, day_of, rolls), problem.crew.minutes.sum(axis=0)
    beyond = sum(
        slope * int(np.maximum(load - np.floor(share * available), 0).sum()) for share, slope in w.level
    )
    single = sum(_single(problem, t, day_of) for t in range(len(problem.tasks)))
    return int(single + w.visit * seen.sum() + w.move * rolls.sum() + w.building * houses.sum() + beyond)


def shift_of(problem: Problem, t: int, day_of: Ints) -> int | None:
    """How many days later than supposed the task before ``t`` is done; nil without one, None: not at all.

    ``day_of`` (n,): day positions.
    """
    before = problem.after[t]
    if before < 0:
        return 0
    supposed = max(problem.tasks[before].due - problem.request.days[0].day, 0)
    return None if day_of[before] == NOWHERE else int(day_of[before]) - supposed


def shifted(problem: Problem, t: int, day_of: Ints) -> Task:
    """The task with its window as it is once the task before it has its day; ``day_of`` (n,)."""
    shift, task = shift_of(problem, t, day_of) or 0, problem.tasks[t]
    if shift == 0:
        return task
    return replace(task, early=task.early + shift, due=task.due + shift, late=task.late + shift)


def _single(problem: Problem, t: int, day_of: Ints) -> int:
    shift, d, task = shift_of(problem, t, day_of), int(day_of[t]), problem.tasks[t]
    if shift is None:
        return 0
    if d == NOWHERE:
        return unplaced_cost(task, problem.request, shift)
    return int(cost_of(task, problem.request, shift)[d])
