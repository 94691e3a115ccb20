"""One day's tasks as stretches of work: what one person does at one car without a break."""

from collections.abc import Iterable
from dataclasses import dataclass, field

import numpy as np

from scheduler.week.means import Means
from scheduler.week.problem import Bools, Problem
from scheduler.week.work import MOVE_RANK, MOVING


@dataclass(frozen=True)
class Step:
    """A task, or the move of a car (``task`` is then what the move satisfies, or None).

    ``who`` (people,): those who may do it.
    """

    car: int
    task: int | None
    moving: bool
    minutes: int
    occupies: int
    needs: tuple[str, ...]
    who: Bools


@dataclass
class Stretch:
    """Steps at one car in order; ``waits`` are the stretches that must be over before it begins.

    ``who`` (people,): those who may do every step, ``people`` the same as positions. ``minutes`` of hands
    and ``needs`` are those of all steps.
    """

    car: int
    steps: list[Step]
    who: Bools
    waits: list[int] = field(default_factory=list)
    minutes: int = 0
    needs: frozenset[str] = frozenset()
    people: list[int] = field(default_factory=list)

    def tasks(self) -> list[int]:
        """The tasks among the steps."""
        return [step.task for step in self.steps if step.task is not None]


def steps_by_car(problem: Problem, tasks: Iterable[int], means: Means) -> dict[int, list[Step]]:
    """Each car's steps in the order of their ranks; a car that rolls has one move."""
    by_rank: dict[int, list[tuple[int, int, Step]]] = {}
    rolled: dict[int, int | None] = {}
    for t in tasks:
        c, task = int(problem.car[t]), problem.tasks[t]
        if problem.moves[t]:
            for front in (*problem.front[c], c):
                rolled.setdefault(front, None)
        if task.duty == MOVING:
            rolled[c] = t
        else:
            occupies = int(problem.occupies[t])
            step = Step(c, t, False, task.minutes, occupies, problem.needs[t], means.allowed[t])
            by_rank.setdefault(c, []).append((task.rank, t, step))
    for c, satisfied in rolled.items():
        by_rank.setdefault(c, []).append((MOVE_RANK, -1, _move(problem, c, satisfied, means)))
    return {c: [step for *_, step in sorted(steps, key=lambda s: s[:2])] for c, steps in by_rank.items()}


def _move(problem: Problem, car: int, satisfied: int | None, means: Means) -> Step:
    minutes = problem.request.move_minutes
    who = problem.movers if satisfied is None else means.allowed[satisfied]
    return Step(car, satisfied, True, minutes, minutes, (), who)


def stretches_of(problem: Problem, steps: dict[int, list[Step]]) -> list[Stretch]:
    """Stretches in walking order; cut where the car waits, where fronts must be out, where hands change."""
    stretches: list[Stretch] = []
    moved_in: dict[int, int] = {}
    cars = sorted(steps, key=lambda c: _walk(problem, c))
    for c in sorted(cars, key=lambda c: len(problem.front[c])):  # those in front first: they are waited for
        last: Stretch | None = None
        for step in steps[c]:
            fronts = [moved_in[f] for f in problem.front[c]] if step.moving else []
            if last is None or fronts or not np.any(last.who & step.who) or _bound(last.steps[-1]):
                waits = [*fronts, *([] if last is None else [len(stretches) - 1])]
                last = Stretch(c, [], np.ones_like(step.who), waits)
                stretches.append(last)
            last.steps.append(step)
            last.who = last.who & step.who
            if step.moving:
                moved_in[c] = len(stretches) - 1
    for stretch in stretches:
        stretch.minutes = sum(step.minutes for step in stretch.steps)
        stretch.needs = frozenset(name for step in stretch.steps for name in step.needs)
        stretch.people = [int(p) for p in np.flatnonzero(stretch.who)]
    return stretches


def _bound(step: Step) -> bool:
    return step.occupies > step.minutes


def _walk(problem: Problem, c: int) -> tuple[int, int]:
    house = problem.request.buildings[problem.building[c]]
    return house.walk_order, problem.cars[c].position


def walk_key(problem: Problem, c: int) -> tuple[int, int, int]:
    """Where a car comes on the round: building, then place in it."""
    order, position = _walk(problem, c)
    return order, int(problem.building[c]), position
