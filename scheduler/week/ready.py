"""A car that is wanted on a day: its work planned backwards from that day."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from scheduler.week.request import Task
from scheduler.week.words import spoken

LAST_LOOK = ("charge", "tyre_pressure")  # what is looked at once more, however lately it was done
LAST_DAYS = 3  # policy: so close to the day is that last look


@dataclass(frozen=True)
class Wanted:
    """Car ``car`` is wanted on ``day`` (ordinal) for ``purpose``."""

    car: str
    day: int
    purpose: str

    def limit(self, today: int) -> int:
        """The last day for its work (ordinal): the day before, or today where it is wanted today."""
        return max(self.day - 1, today)


def ready(
    tasks: Iterable[Task], wanted: Iterable[Wanted], looks: Iterable[Task], today: int, last: int
) -> list[Task]:
    """The same tasks with the day before as the limit of all that is due by the day, and the last looks.

    ``looks``: a task a car and duty of ``LAST_LOOK`` to take the last look from; its window is not asked.
    A task that is due already keeps its own limit. What comes round again is no longer moved by its
    forerunner once its limit is such a day. Days are ordinals; ``last``: the last of the plan.
    """
    made, templates = list(tasks), list(looks)
    for wish in sorted(wanted, key=lambda wish: wish.day):
        if wish.day < today:
            continue
        made = [_by(task, wish, today) for task in made]
        if wish.limit(today) <= last:
            for look in (look for look in templates if look.car == wish.car and look.duty in LAST_LOOK):
                made = _looked_at(made, look, wish, today)
    return made


def _words(wish: Wanted, today: int) -> str:
    return f"{spoken(wish.day, today)}: {wish.purpose}"


def _by(task: Task, wish: Wanted, today: int) -> Task:
    """The task with the wish as its limit, where it falls due by then and nothing nearer is its limit."""
    if task.car != wish.car or task.held or task.wanted or task.due > wish.day:
        return task
    late = min(task.late, wish.limit(today))
    due = min(task.due, late)
    after = "" if "#" in task.key else task.after  # what follows another duty goes on doing so
    return replace(
        task, early=min(task.early, due), due=due, late=late, after=after, wanted=_words(wish, today)
    )


def _looked_at(tasks: list[Task], look: Task, wish: Wanted, today: int) -> list[Task]:
    """One look in the last days: the one that falls there anyway, else one more."""
    end = wish.limit(today)
    begin = max(end - LAST_DAYS + 1, today)
    same = [task for task in tasks if task.car == look.car and task.duty == look.duty]
    if any(task.held for task in same):
        return tasks
    near = next((task for task in same if max(task.due, today) >= begin and task.early <= end), None)
    if near is not None and near.late < today:
        return tasks  # late already, and done as soon as may be: that is the last look
    if near is None:
        key = f"{look.key}#ready-{wish.day}"
        wanted = _words(wish, today)
        return [*tasks, replace(look, key=key, early=begin, due=end, late=end, after="", wanted=wanted)]
    closer = replace(
        near,
        early=max(near.early, begin),
        due=min(max(near.due, begin), end),
        late=min(max(near.late, begin), end),
        after="",
        wanted=_words(wish, today),
    )
    return [closer if task is near else task for task in tasks]
