"""Which tasks of one car hang together, as positions among the tasks."""

from collections.abc import Container
from dataclasses import replace

from scheduler.week.request import Task
from scheduler.week.work import BEFORE_WARMING, WARMING


def _by_car(tasks: tuple[Task, ...], duties: Container[str]) -> dict[str, list[int]]:
    by_car: dict[str, list[int]] = {}
    for i, task in enumerate(tasks):
        if task.duty in duties:
            by_car.setdefault(task.car, []).append(i)
    return by_car


def warm(tasks: tuple[Task, ...]) -> dict[int, tuple[int, ...]]:
    """Tasks that want a warm engine, with the same car's run-ups; a car without run-ups has none."""
    run_ups = _by_car(tasks, WARMING)
    return {i: tuple(run_ups[task.car]) for i, task in enumerate(tasks) if task.warm and task.car in run_ups}


def run_early(tasks: tuple[Task, ...]) -> tuple[Task, ...]:
    """The same tasks; where warm work would be late before a run-up may be, the first may come for it."""
    made = list(tasks)
    for i, run_ups in warm(tasks).items():
        r = min(run_ups, key=lambda r: tasks[r].due)
        if tasks[i].late < made[r].early and tasks[i].pinned_day is None:
            made[r] = replace(made[r], early=min(made[r].early, max(tasks[i].early, tasks[i].late)))
    return tuple(made)


def ahead(tasks: tuple[Task, ...]) -> tuple[tuple[int, int], ...]:
    """Each stabiliser with the first run-up that may draw it in."""
    run_ups = _by_car(tasks, WARMING)
    pairs = []
    for i, task in enumerate(tasks):
        if task.duty in BEFORE_WARMING:
            later = [r for r in run_ups.get(task.car, ()) if tasks[r].late >= task.early]
            if later:
                pairs.append((i, min(later, key=lambda r: tasks[r].due)))
    return tuple(pairs)


def alike(tasks: tuple[Task, ...]) -> tuple[tuple[int, ...], ...]:
    """The same duty several times at one car: never twice on a day."""
    groups: dict[tuple[str, str], list[int]] = {}
    for i, task in enumerate(tasks):
        groups.setdefault((task.car, task.duty), []).append(i)
    return tuple(tuple(group) for group in groups.values() if len(group) > 1)


def after(tasks: tuple[Task, ...]) -> tuple[int, ...]:
    """For each task the one that it follows, −1 for none (or one that is held)."""
    place = {task.key: i for i, task in enumerate(tasks)}
    return tuple(place.get(task.after, -1) for task in tasks)
