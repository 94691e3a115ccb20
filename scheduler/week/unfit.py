"""Why a task has no place in time."""

from collections import Counter

import numpy as np

from scheduler.week.place import Placing
from scheduler.week.problem import Bar, Ints
from scheduler.week.result import Unfit
from scheduler.week.words import counted, label, listed, spoken
from scheduler.week.worth import NOWHERE

BARS = {
    Bar.CLOSED: "the site is closed",
    Bar.WEATHER: "it is too cold or stormy for work in the yard",
    Bar.BLOCKED: "the car or one in front of it cannot be moved",
    Bar.NOBODY: "nobody who may do it is at work",
    Bar.HOURS: "nobody who may do it has that long",
    Bar.EQUIPMENT: "the equipment is missing",
}


def unfit(placing: Placing, t: int, would_fit: tuple[str, ...]) -> Unfit:
    """The reason why task ``t`` is late or has no place; ``would_fit``: what would give it one."""
    task, first = placing.task(t), placing.problem.request.days[0].day
    now = int(placing.day_of[t])
    days = days_in_time(placing, t)
    late_on = None if now == NOWHERE else first + now
    return Unfit(task.key, task.car, task.duty, _why(placing, t, days), would_fit, late_on)


def days_in_time(placing: Placing, t: int) -> Ints:
    """The day positions (k,) on which the task would be in time; where none is left, the first ones."""
    problem, task = placing.problem, placing.task(t)
    first, count = problem.request.days[0].day, len(problem.request.days)
    if task.pinned_day is not None:
        at = task.pinned_day - first
        return np.arange(at, at + 1) if 0 <= at < count else np.arange(0)
    days = np.arange(max(task.early - first, 0), min(max(task.late - first + 1, 0), count))
    return days if days.size else np.arange(min(7, count))


def _why(placing: Placing, t: int, days: Ints) -> str:
    problem, task = placing.problem, placing.task(t)
    first = problem.request.days[0].day
    if not days.size:
        pinned = f"pinned to {spoken(task.pinned_day, first)}, " if task.pinned_day is not None else ""
        return f"{label(task.duty).capitalize()}: {pinned}which is outside this plan."
    bars = Counter(Bar(int(code)) for code in problem.bar[t, days])
    reasons = [f"on {counted(n, 'day')} {BARS[bar]}" for bar, n in bars.items() if bar in BARS]
    if full := bars[Bar.OPEN]:
        reasons.append(f"on {counted(full, 'day')} {_full(placing, t, days)}")
    if task.pinned_day is not None:
        span = f"pinned to {spoken(task.pinned_day, first)}"
    elif task.late < first:
        span = f"it was due by {spoken(task.late, first)}, before this plan begins"
    else:
        begin, end = (spoken(first + int(day), first) for day in (days[0], days[-1]))
        span = f"to be in time from {begin} to {end}"
    return f"{label(task.duty).capitalize()}: {span}; {listed(reasons)}."


def _full(placing: Placing, t: int, days: Ints) -> str:
    """What an open day lacks: order at the car, or time and equipment."""
    problem = placing.problem
    ok = placing.orders.allows(t, without(placing, t))
    if not ok[days].any() and t in problem.warm:
        return "the engine is not warm, since no run-up of the car stands there"
    if not ok[days].any():
        return "the order of work at the car stands against it"
    return "hours or equipment are taken by other work"


def without(placing: Placing, t: int) -> Ints:
    """Where all others are: day positions (n,)."""
    others = placing.day_of.copy()
    others[t] = NOWHERE
    return others
