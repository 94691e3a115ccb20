"""The rules of order between the tasks of one car, across days."""

import numpy as np

from scheduler.week.problem import Bools, Ints, Problem
from scheduler.week.worth import NOWHERE


class Orders:
    """Which days keep a task in order with tasks already placed.

    Warm work goes only where a run-up of the car is; a stabiliser no later than the run-up that
    draws it in; the same duty at one car once a day.
    """

    def __init__(self, problem: Problem) -> None:
        self.warm = problem.warm
        self.days = problem.cost.shape[1]
        self.first: dict[int, list[int]] = {}
        self.then: dict[int, list[int]] = {}
        for first, then in problem.ahead:
            self.first.setdefault(then, []).append(first)
            self.then.setdefault(first, []).append(then)
        for then, first in enumerate(problem.after):
            if first >= 0 and problem.tasks[then].duty != problem.tasks[first].duty:
                self.first.setdefault(then, []).append(first)
                self.then.setdefault(first, []).append(then)
        self.alike = {t: [o for o in group if o != t] for group in problem.alike for t in group}

    def allows(self, task: int, day_of: Ints, *, cold: bool = False) -> Bools:
        """Days (D,) for ``task``, given everyone's day ``day_of`` (n,); ``cold``: no run-up is wanted."""
        ok = np.ones(self.days, dtype=np.bool_)
        if task in self.warm and not cold:
            at = day_of[list(self.warm[task])]
            ok[:] = False
            ok[at[at != NOWHERE]] = True
        for then in self.then.get(task, ()):
            if day_of[then] != NOWHERE:
                ok[day_of[then] + 1 :] = False
        for first in self.first.get(task, ()):
            ok[: max(day_of[first], 0)] = False
        others = day_of[self.alike.get(task, [])]
        ok[others[others != NOWHERE]] = False
        return ok
