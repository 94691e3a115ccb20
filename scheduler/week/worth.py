"""What a choice of days costs, in the prices of the request; the measure that every step shares."""

import numpy as np

from scheduler.week.problem import Bools, Ints, Problem

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
    """Minutes of hands on each day, travel left out, (D,)."""
    placed = np.flatnonzero(day_of != NOWHERE)
    hands = np.bincount(day_of[placed], problem.minutes[placed], problem.cost.shape[1])
    return np.asarray(hands.astype(np.int64) + problem.request.move_minutes * rolls.sum(axis=0))


def worth(problem: Problem, day_of: Ints) -> int:
    """The price of putting each task on its day position (NOWHERE: not at all), shape (n,)."""
    w = problem.request.weights
    placed = np.flatnonzero(day_of != NOWHERE)
    rolls = moved(problem, day_of)
    seen = visited(problem, day_of, rolls)
    houses = np.zeros((len(problem.request.buildings), seen.shape[1]), dtype=np.bool_)
    np.logical_or.at(houses, problem.building, seen)
    load, available = loads(problem, day_of, rolls), problem.crew.minutes.sum(axis=0)
    beyond = sum(
        slope * int(np.maximum(load - np.floor(share * available), 0).sum()) for share, slope in w.level
    )
    single = problem.cost[placed, day_of[placed]].sum() + problem.unplaced_cost[day_of == NOWHERE].sum()
    return int(single + w.visit * seen.sum() + w.move * rolls.sum() + w.building * houses.sum() + beyond)
