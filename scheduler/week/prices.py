"""The price of each task on each day, and of leaving it out, by itself: no visits, moves or level."""

import numpy as np
import numpy.typing as npt

from scheduler.week.request import PlanRequest, Task

Ints = npt.NDArray[np.int64]

PINNED = 10  # what a person chose is given up last


def costs(tasks: tuple[Task, ...], request: PlanRequest) -> Ints:
    """The price of each task on each day apart from visits, moves and level, (n, D)."""
    w, days = request.weights, np.array([day.day for day in request.days], dtype=np.int64)[None, :]
    first = int(days[0, 0])
    due = np.array([max(task.due, first) for task in tasks])[:, None]
    late = np.array([max(task.late, first - 1) for task in tasks])[:, None]
    after = np.maximum(days - late, 0)
    cost = w.early_day * np.maximum(due - days, 0) + w.after_due_day * np.maximum(days - due, 0)
    cost = cost + np.where(after > 0, w.late + w.late_day * after, 0)
    was = np.array([_previous_day(task.key, request) for task in tasks])[:, None]
    changed = np.where((was >= first) & (was != days), w.changed, 0)
    return np.asarray((cost + changed).reshape(len(tasks), days.size), dtype=np.int64)


def unplaced(tasks: tuple[Task, ...], request: PlanRequest, cost: Ints) -> Ints:
    """The price of leaving each task out, (n,): little if its window runs on past the plan."""
    w, last = request.weights, request.days[-1].day
    worst = cost.max(axis=1, initial=0)
    prices = []
    for task, most in zip(tasks, worst, strict=True):
        if task.pinned_day is not None:
            prices.append(w.unplaced * PINNED + int(most))
        elif task.late <= last:
            prices.append(w.unplaced + int(most))
        else:
            prices.append(w.put_off if task.due <= last else w.not_yet)
    return np.array(prices, dtype=np.int64)


def _previous_day(key: str, request: PlanRequest) -> int:
    before = request.previous.get(key)
    return -1 if before is None else before.day
