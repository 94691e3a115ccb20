"""The rules of order between the tasks of one car, across days or weeks."""

import numpy as np

from scheduler.week.problem import Bools, Ints, Problem
from scheduler.week.worth import NOWHERE


class Orders:
    """Which buckets keep a task in order with tasks already placed.

    Warm work goes only where a run-up of the car is; a stabiliser no later than the run-up that
    draws it in; the same duty at one car once a day.
    """

    def __init__(self, problem: Problem) -> None:
        self.warm = problem.warm
        self.then = dict(problem.ahead)
        self.first: dict[int, list[int]] = {}
        for first, then in problem.ahead:
            self.first.setdefault(then, []).append(first)
        self.alike = {t: [o for o in group if o != t] for group in problem.alike for t in group}

    def allows(self, task: int, place_of: Ints, span: Ints) -> Bools:
        """Buckets (b,) for ``task``, given everyone's bucket ``place_of`` (n,) and days a bucket."""
        buckets = np.arange(len(span))
        ok = np.ones(len(span), dtype=np.bool_)
        if task in self.warm:
            ok &= np.isin(buckets, place_of[list(self.warm[task])])
        if task in self.then and place_of[self.then[task]] != NOWHERE:
            ok &= buckets <= place_of[self.then[task]]
        ok &= buckets >= place_of[self.first.get(task, [])].max(initial=NOWHERE)
        others = place_of[self.alike.get(task, [])]
        return np.asarray(ok & (np.bincount(others[others >= 0], minlength=len(span)) < span))
