"""The plan of one site; an organisation is a loop, or a job each, over its sites."""

from time import perf_counter

import numpy as np

from scheduler.week.checked import checked
from scheduler.week.means import means_of
from scheduler.week.place import Placing, placed
from scheduler.week.problem import Problem, problem_of
from scheduler.week.reason import reason
from scheduler.week.remedies import remedies
from scheduler.week.request import PlanRequest
from scheduler.week.result import Move, Placement, Plan, Unfit
from scheduler.week.score import score
from scheduler.week.timetable import Entry, timetable
from scheduler.week.unfit import unfit
from scheduler.week.worth import NOWHERE


def plan(request: PlanRequest) -> Plan:
    """The best plan found in ``request.steps``, with its distance from the best possible.

    Raises BadInput where the request is not sound. Nothing here reads a calendar: the first of
    ``request.days`` is the first day that may be planned.

    >>> from scheduler.week.repeat import task
    >>> from scheduler.week.request import Building, Car, Day, Person
    >>> hall, ann = Building("hall", "Hall", 1), Person("ann", "Ann", frozenset({"inspection"}))
    >>> request = PlanRequest(
    ...     (Day(100, 480, 1020, {"ann": 240}, {}),),
    ...     (task("look", "car", "inspection", (99, 100, 101)),),
    ...     (Car("car", "A car", "hall", 1),),
    ...     (hall,),
    ...     (ann,),
    ...     {},
    ... )
    >>> [(each.task, each.day) for each in plan(request).placements]
    [('look', 100)]
    """
    begun = perf_counter()
    placing = placed(problem_of(checked(request)))
    return written(request, placing, perf_counter() - begun)


def written(request: PlanRequest, placing: Placing, seconds: float) -> Plan:
    """The plan in words, people and minutes, of tasks that have their days; ``seconds`` spent on these."""
    placements, moves = _sheets(placing)
    held = tuple((task.key, task.held) for task in request.tasks if task.held)
    later = tuple(placing.problem.tasks[t].key for t in _later(placing))
    return Plan(placements, moves, _unfits(placing), later, held, score(placing, seconds))


def _sheets(placing: Placing) -> tuple[tuple[Placement, ...], tuple[Move, ...]]:
    placements: list[Placement] = []
    moves: list[Move] = []
    for d in np.unique(placing.day_of[placing.day_of != NOWHERE]):
        entries = timetable(placing.problem, placing.on(int(d)), means_of(placing.problem, int(d))).entries
        order: dict[int, int] = {}
        for entry in entries:
            order[entry.person] = order.get(entry.person, 0) + 1
            if entry.step.task is not None:
                placements.append(_placement(placing, entry, order[entry.person]))
            if entry.step.moving:
                moves.append(_move(placing, entry, int(d), order[entry.person]))
    return tuple(placements), tuple(moves)


def _placement(placing: Placing, entry: Entry, order: int) -> Placement:
    problem, t = placing.problem, entry.step.task
    assert t is not None  # noqa: S101 - the caller picks entries that have one
    task, day = placing.task(t), problem.request.days[0].day + int(placing.day_of[t])
    return Placement(
        task.key,
        task.car,
        task.duty,
        day,
        task.due,
        problem.crew.keys[entry.person],
        entry.start,
        entry.step.minutes,
        order,
        max(day - task.late, 0),
        reason(placing, t),
        entry.step.moving,
    )


def _move(placing: Placing, entry: Entry, d: int, order: int) -> Move:
    problem, car = placing.problem, entry.step.car
    out = {int(problem.car[t]) for t in placing.on(d) if problem.moves[t]}
    reached = tuple(problem.cars[c].key for c in sorted(out) if car in problem.front[c])
    task = None if entry.step.task is None else problem.tasks[entry.step.task].key
    return Move(
        problem.cars[car].key,
        problem.request.days[d].day,
        problem.crew.keys[entry.person],
        entry.start,
        entry.step.minutes,
        order,
        reached,
        task,
    )


def _later(placing: Placing) -> list[int]:
    last = placing.problem.request.days[-1].day
    left = [int(t) for t in np.flatnonzero(placing.day_of == NOWHERE)]
    return [
        t
        for t in left
        if placing.waits(t) or ((task := placing.task(t)).late > last and task.pinned_day is None)
    ]


def _unfits(placing: Placing) -> tuple[Unfit, ...]:
    """Tasks without a place in time, the most urgent first; what was late before the plan has no remedy."""
    problem: Problem = placing.problem
    first, waiting = problem.request.days[0].day, set(_later(placing))
    wrong = [
        t
        for t in range(len(problem.tasks))
        if t not in waiting
        and (placing.day_of[t] == NOWHERE or first + placing.day_of[t] > placing.task(t).late)
    ]
    would_fit = remedies(placing, [t for t in wrong if placing.task(t).late >= first])
    return tuple(
        unfit(placing, t, would_fit.get(t, ())) for t in sorted(wrong, key=lambda t: problem.tasks[t].late)
    )
