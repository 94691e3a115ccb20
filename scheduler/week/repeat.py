"""Tasks from a duty's table row and its window, once or again and again."""

from dataclasses import replace
from math import ceil

from scheduler.vocabulary.duties import DUTY, is_duty
from scheduler.vocabulary.errors import BadInput
from scheduler.week.request import Task


def task(key: str, car: str, duty: str, window: tuple[int, int, int], held: str = "") -> Task:
    """A task of ``duty`` with its usual minutes and needs; ``window`` is early, due, late (ordinals).

    BadInput: a duty without a row of work.
    """
    if not is_duty(duty):
        raise BadInput("duty", f"{duty!r} is not in the table of work: choose one of {', '.join(DUTY)}")
    work = DUTY[duty].work
    occupies = 0 if work.occupies is None else work.occupies.likely
    return Task(
        key,
        car,
        duty,
        *window,
        work.minutes.likely,
        work.rank,
        work.equipment,
        occupies,
        work.leaves_bay,
        work.wants_warm,
        held,
    )


def repeat(first: Task, interval_days: float, today: int, last_day: int) -> tuple[Task, ...]:
    """``first`` and its successors as far as their early day is within ``last_day`` (ordinal).

    A successor falls due one interval after the day its forerunner is likely done: its due day, or
    today where that is past; where the plan does that on another day, its window moves along.
    It keeps the forerunner's width, but never opens before half an
    interval has passed, so that two are not done in one go. Keys: ``first.key``, then ``#2``, ``#3``...
    BadInput: an interval below a day.
    """
    if not interval_days >= 1:
        raise BadInput("interval_days", f"{interval_days!r} is not at least one day")
    done = max(first.due, today)
    width = (min(first.due - first.early, int(interval_days / 2)), max(first.late - first.due, 0))
    tasks = [first]
    while (due := done + ceil(interval_days * len(tasks))) - width[0] <= last_day:
        tasks.append(
            replace(
                first,
                key=f"{first.key}#{len(tasks) + 1}",
                after=tasks[-1].key,
                early=due - width[0],
                due=due,
                late=due + width[1],
                pinned_day=None,
                pinned_person=None,
            )
        )
    return tuple(tasks)
