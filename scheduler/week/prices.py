"""The price of each task on each day, and of leaving it out, by itself: no visits, moves or level."""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from scheduler.week.request import PlanRequest, Task

Ints = npt.NDArray[np.int64]

PINNED = 10  # what a person chose is given up last


def lateness(after: Ints, days: Sequence[tuple[int, int]]) -> Ints:
    """The price of being ``after`` days late (any shape, ≤ 0: in time), a day less dear step by step."""
    total, since = np.zeros_like(after), 0
    for until, price in days:
        total = total + price * (np.clip(after, since, until) - since)
        since = until
    return total


def costs(tasks: tuple[Task, ...], request: PlanRequest) -> Ints:
    """The price of each task on each day apart from visits, moves and level, (n, D)."""
    return np.array([cost_of(task, request, 0) for task in tasks], dtype=np.int64).reshape(
        len(tasks), len(request.days)
    )


def cost_of(task: Task, request: PlanRequest, shift: int) -> Ints:
    """The price of a task on each day (D,), its window ``shift`` days later.

    What it is late by before the plan begins is not counted: no plan can change that.
    """
    w, first = request.weights, request.days[0].day
    days = np.arange(first, first + len(request.days))
    due, late = max(task.due + shift, first), task.late + shift
    cost = w.early_day * np.maximum(due - days, 0) + w.after_due_day * np.maximum(days - due, 0)
    cost = cost + lateness(days - late, w.late_days) - int(lateness(np.array(first - 1 - late), w.late_days))
    if late >= first - 1:
        cost = cost + w.late * (days > late)
    was = _previous_day(task.key, request)
    moving = w.changed if was < first + w.near_days else w.changed_later
    return np.asarray(cost + (moving if was >= first else 0) * (was != days), dtype=np.int64)


def unplaced(tasks: tuple[Task, ...], request: PlanRequest) -> Ints:
    """The price of leaving each task out, (n,): little if its window runs on past the plan."""
    return np.array([unplaced_cost(task, request, 0) for task in tasks], dtype=np.int64)


def unplaced_cost(task: Task, request: PlanRequest, shift: int) -> int:
    """The price of leaving a task out, its window ``shift`` days later."""
    w, last = request.weights, request.days[-1].day
    if task.pinned_day is not None:
        return w.unplaced * PINNED + int(cost_of(task, request, shift)[-1])
    if task.late + shift <= last:
        return w.unplaced + int(cost_of(task, request, shift)[-1])
    return w.put_off if task.due + shift <= last else w.not_yet


def _previous_day(key: str, request: PlanRequest) -> int:
    before = request.previous.get(key)
    return -1 if before is None else before.day
