"""Every task on its day: a start after the relaxed programme by weeks, then the search."""

from dataclasses import dataclass

import numpy as np

from scheduler.week.ledger import Ledger
from scheduler.week.model import build
from scheduler.week.order import Orders
from scheduler.week.problem import Bar, Ints, Problem
from scheduler.week.request import Task
from scheduler.week.search import Search
from scheduler.week.view import view_of
from scheduler.week.worth import shift_of, shifted

DAYS_A_WEEK = 7
STEPS_A_TASK = 60  # more of them change nothing at a site of a few tasks
ANOTHER_WEEK = 60  # what the start pays for a task outside the week that the programme gives it


@dataclass
class Placing:
    """The plan: ``day_of`` (n,) day positions, NOWHERE for none; ``bound``: nothing costs less."""

    problem: Problem
    day_of: Ints
    bound: float
    orders: Orders

    def on(self, d: int) -> list[int]:
        """The tasks on day ``d``."""
        return [int(t) for t in np.flatnonzero(self.day_of == d)]

    def task(self, t: int) -> Task:
        """Task ``t`` with its window as the plan has it: that of a repeat counts from the day before it."""
        return shifted(self.problem, t, self.day_of)

    def waits(self, t: int) -> bool:
        """Whether ``t`` has no place because the task that it follows has none."""
        return shift_of(self.problem, t, self.day_of) is None


def placed(problem: Problem) -> Placing:
    """The same answer for the same request: a seed and a count of steps decide, never the clock."""
    ledger = Ledger(problem)
    if problem.tasks:
        search = Search(ledger, problem.request.seed)
        dear, bound = by_weeks(problem)
        search.construct(dear)
        search.improve(min(problem.request.steps, STEPS_A_TASK * len(problem.tasks)))
        search.repair()
        return Placing(problem, ledger.day_of, bound, ledger.orders)
    return Placing(problem, ledger.day_of, 0.0, ledger.orders)


def by_weeks(problem: Problem, days_alone: int = 0) -> tuple[Ints, float]:
    """What each task pays outside the weeks that the relaxed programme gives it (n, D), and the bound.

    ``days_alone``: the first so many days stand by themselves; more of them raise the bound and take longer.
    """
    from scheduler.week.solver import relax  # the solver's library loads where a plan is made

    every, days = np.arange(len(problem.tasks)), problem.cost.shape[1]
    buckets = [np.array([d]) for d in range(days_alone)]
    buckets += [np.arange(d, min(d + DAYS_A_WEEK, days)) for d in range(days_alone, days, DAYS_A_WEEK)]
    can = problem.bar == Bar.OPEN
    model = build(view_of(problem, every, buckets, can))
    relaxed = relax(model)
    bound = relaxed.bound
    # the windows of what follows another move with it: only the others are bound by theirs
    follows = np.array(problem.after) >= 0
    apart = every[~follows & [not follows[list(problem.warm.get(int(t), ()))].any() for t in every]]
    if apart.size < every.size:
        bound = relax(build(view_of(problem, apart, buckets, can))).bound if apart.size else 0.0
    if relaxed.x is None:
        return np.zeros_like(problem.cost), bound
    put = model.layout.put
    share = np.where(put >= 0, relaxed.x[np.maximum(put, 0)], 0.0)
    by_day = np.repeat(share, [len(bucket) for bucket in buckets], axis=1)
    return np.asarray(ANOTHER_WEEK * (1 - by_day), dtype=np.int64), bound
