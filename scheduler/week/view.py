"""A problem seen in buckets: chosen tasks against groups of days (weeks, or single days).

Everything summed so that a plan by days is also a plan by weeks of no higher price: the best plan
by weeks is therefore a bound for every plan by days.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from scheduler.week.problem import Bools, Ints, Problem

MOST_GROUPS = 16  # unions of people whose hours are held apart; more would only slow the solver
NEVER = np.iinfo(np.int64).max // 4


@dataclass(frozen=True)
class Hours:
    """Groups of people: their hours by bucket (g, b), and whose work only they can do.

    ``bound`` (n, g): all who may do the task are in the group; ``bound_moves`` (g,) the same for moves;
    ``everyone`` (g,): nobody is outside the group.
    """

    capacity: Ints
    bound: Bools
    bound_moves: Bools
    everyone: Bools


@dataclass(frozen=True)
class Gear:
    """One kind of equipment: minutes and turns to be had by bucket (b,), minutes each task takes (n, b)."""

    uses: Bools
    taken: Ints
    minutes: Ints
    turns: Ints


@dataclass(frozen=True)
class View:
    """``chosen`` (n,) tasks of the problem; ``can`` and ``cost`` (n, b); ``span`` (b,) days a bucket.

    ``room`` (steps, b): minutes up to each level step.
    """

    problem: Problem
    chosen: Ints
    buckets: tuple[Ints, ...]
    can: Bools
    cost: Ints
    span: Ints
    hours: Hours
    room: Ints
    gear: tuple[Gear, ...]


def view_of(problem: Problem, chosen: Ints, buckets: Sequence[Ints], can: Bools) -> View:
    """``chosen`` tasks (k,) against ``buckets`` of day positions; ``can`` (tasks, days): still to be had."""
    may = can[chosen]
    priced = np.where(may, problem.cost[chosen], NEVER)
    cost = np.stack([priced[:, days].min(axis=1, initial=NEVER) for days in buckets], axis=1)
    daily = problem.crew.minutes.sum(axis=0)
    steps = [np.floor(share * daily).astype(np.int64) for share, _ in problem.request.weights.level]
    room = [[step[days].sum() for days in buckets] for step in steps]
    return View(
        problem,
        chosen,
        tuple(buckets),
        cost < NEVER,
        cost,
        span=np.array([len(days) for days in buckets]),
        hours=_hours(problem, chosen, buckets),
        room=np.array(room, dtype=np.int64).reshape(len(steps), len(buckets)),
        gear=tuple(_gear(problem, chosen, buckets, name) for name in problem.equipment),
    )


def _hours(problem: Problem, chosen: Ints, buckets: Sequence[Ints]) -> Hours:
    allowed = problem.allowed[chosen]
    groups = _unions({row.tobytes(): row for row in (*allowed, problem.movers)})
    per_bucket = np.stack([problem.crew.minutes[:, days].sum(axis=1) for days in buckets], axis=1)
    return Hours(
        capacity=groups.astype(np.int64) @ per_bucket,
        bound=np.all(~allowed[:, None, :] | groups[None, :, :], axis=2),
        bound_moves=np.all(~problem.movers[None, :] | groups, axis=1),
        everyone=np.asarray(groups.all(axis=1), dtype=np.bool_),
    )


def _unions(rows: dict[bytes, Bools]) -> Bools:
    """The distinct groups, everyone together, and unions of two, as far as MOST_GROUPS."""
    groups = dict(rows)
    everyone = np.ones_like(next(iter(rows.values())))
    groups[everyone.tobytes()] = everyone
    for one in list(rows.values()):
        for other in list(rows.values()):
            if len(groups) < MOST_GROUPS:
                union = one | other
                groups[union.tobytes()] = union
    return np.stack(list(groups.values()))


def _gear(problem: Problem, chosen: Ints, buckets: Sequence[Ints], name: str) -> Gear:
    uses = np.array([name in problem.needs[i] for i in chosen], dtype=np.bool_)
    count, opening = problem.equipment[name], problem.crew.closes - problem.crew.opens
    occupies = problem.occupies[chosen]
    shortest = max(int(occupies[uses].min(initial=NEVER)), 1)
    turns = count * np.maximum(opening // shortest, opening > 0)
    shut = np.where(opening > 0, opening, NEVER)  # what is bound past closing time holds no one up
    taken = [np.minimum(occupies, shut[days].min(initial=NEVER)) for days in buckets]
    return Gear(
        uses=uses,
        taken=np.stack(taken, axis=1) * uses[:, None],
        minutes=np.array([(count * opening)[days].sum() for days in buckets], dtype=np.int64),
        turns=np.array([turns[days].sum() for days in buckets], dtype=np.int64),
    )
