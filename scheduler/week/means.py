"""What one day offers: hours, opening, equipment, and who may do what; and what if it offered more."""

from dataclasses import dataclass, replace

import numpy as np

from scheduler.week.problem import Bools, Ints, Problem


@dataclass(frozen=True)
class Means:
    """``minutes`` (P,) of each person; ``allowed`` (n, P); ``gear``: how many of each equipment."""

    minutes: Ints
    opens: int
    closes: int
    gear: dict[str, int]
    allowed: Bools

    def longer(self, person: int, extra: int) -> "Means":
        """The same day with ``extra`` minutes more for one person, and open as much longer if need be."""
        minutes = self.minutes.copy()
        minutes[person] += extra
        closes = max(self.closes, min(self.opens + int(minutes[person]), 24 * 60))
        return replace(self, minutes=minutes, closes=closes)

    def another(self, name: str) -> "Means":
        """The same day with one more piece of equipment."""
        return replace(self, gear={**self.gear, name: self.gear.get(name, 0) + 1})

    def may(self, task: int, person: int) -> "Means":
        """The same day if this person might do this task."""
        allowed = self.allowed.copy()
        allowed[task, person] = True
        return replace(self, allowed=allowed)


def means_of(problem: Problem, d: int) -> Means:
    """What day position ``d`` offers."""
    crew = problem.crew
    gear = {name: int(counts[d]) for name, counts in problem.equipment.items()}
    return Means(crew.minutes[:, d], int(crew.opens[d]), int(crew.closes[d]), gear, problem.allowed)


def if_open(problem: Problem, d: int) -> Means:
    """What day ``d`` would offer were it not closed."""
    day = problem.request.days[d]
    gear = {name: int(counts[d]) for name, counts in problem.equipment.items()}
    minutes = [min(day.staff_minutes.get(key, 0), day.closes - day.opens) for key in problem.crew.keys]
    return Means(np.array(minutes, dtype=np.int64), day.opens, day.closes, gear, problem.allowed)
