"""Why a task has no place in time, and each single change that would give it one, each tried out."""

from collections import Counter
from collections.abc import Iterator

import numpy as np

from scheduler.week.means import Means, if_open, means_of
from scheduler.week.place import Placing
from scheduler.week.problem import Bar, Ints
from scheduler.week.result import Unfit
from scheduler.week.timetable import fits
from scheduler.week.words import counted, label, listed, people, spoken
from scheduler.week.worth import NOWHERE

EXTRA_MINUTES = (15, 30, 60, 90, 120, 240)  # what may be asked of one person on one day (policy)
DAYS_TRIED = 3
BARS = {
    Bar.CLOSED: "the site is closed",
    Bar.WEATHER: "it is too cold or stormy for work in the yard",
    Bar.BLOCKED: "the car or one in front of it cannot be moved",
    Bar.NOBODY: "nobody who may do it is at work",
    Bar.HOURS: "nobody who may do it has that long",
    Bar.EQUIPMENT: "the equipment is missing",
}


def unfit(placing: Placing, t: int) -> Unfit:
    """The reason and the remedies for task ``t``, which is late or has no place."""
    problem, task = placing.problem, placing.task(t)
    first = problem.request.days[0].day
    now = int(placing.day_of[t])
    days = _window(placing, t)
    late_on = None if now == NOWHERE else first + now
    remedies = tuple(dict.fromkeys(_remedies(placing, t, days)))
    return Unfit(task.key, task.car, task.duty, _why(placing, t, days), remedies, late_on)


def _window(placing: Placing, t: int) -> Ints:
    """The day positions on which the task would be in time; where none is left, the first ones."""
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
        span = f"to be in time from {spoken(first + int(days[0]))} to {spoken(first + int(days[-1]))}"
    return f"{label(task.duty).capitalize()}: {span}; {listed(reasons)}."


def _full(placing: Placing, t: int, days: Ints) -> str:
    """What an open day lacks: order at the car, or time and equipment."""
    problem = placing.problem
    ok = placing.orders.allows(t, _without(placing, t))
    if not ok[days].any() and t in problem.warm:
        return "the engine is not warm, since no run-up of the car stands there"
    if not ok[days].any():
        return "the order of work at the car stands against it"
    return "hours or equipment are taken by other work"


def _without(placing: Placing, t: int) -> Ints:
    others = placing.day_of.copy()
    others[t] = NOWHERE
    return others


def _remedies(placing: Placing, t: int, days: Ints) -> Iterator[str]:
    """Single changes under which the timetable has time, the days nearest to due first."""
    problem, task = placing.problem, placing.task(t)
    first, others = problem.request.days[0].day, _without(placing, t)
    ok = placing.orders.allows(t, others)
    near = sorted((int(d) for d in days if ok[d]), key=lambda d: abs(first + d - task.due))
    useful = [d for d in near if problem.bar[t, d] not in (Bar.CLOSED, Bar.WEATHER, Bar.BLOCKED)]
    for d in useful[:DAYS_TRIED]:
        on = [int(o) for o in np.flatnonzero(others == d)]
        yield from _more(placing, t, on, means_of(problem, d), spoken(first + d))
    for d in [d for d in near if problem.bar[t, d] == Bar.CLOSED][:1]:
        if fits(problem, [t], if_open(problem, d)):
            yield f"open on {spoken(first + d)}"
    if not useful and (yard := [d for d in near if problem.bar[t, d] == Bar.WEATHER]):
        yield f"the car under a roof by {spoken(first + yard[0])}"
    yield from _free_car(placing, t)
    yield from _another_day(placing, t)


def _more(placing: Placing, t: int, on: list[int], means: Means, when: str) -> Iterator[str]:
    problem, who = placing.problem, [int(p) for p in np.flatnonzero(placing.problem.allowed[t])]
    for extra in EXTRA_MINUTES:
        helped = [p for p in who if fits(problem, [*on, t], means.longer(p, extra))]
        if helped:
            yield f"{extra} minutes more for {people(problem, helped)} on {when}"
            break
    for name in problem.needs[t]:
        if fits(problem, [*on, t], means.another(name)):
            yield f"another {name} on {when}"
    spare = [p for p in range(len(means.minutes)) if p not in who and means.minutes[p] > 0]
    able = [p for p in spare if fits(problem, [*on, t], means.may(t, p))]
    if able:
        yield f"{people(problem, able)} allowed to do {label(problem.tasks[t].duty)}, on {when}"


def _free_car(placing: Placing, t: int) -> Iterator[str]:
    problem = placing.problem
    c = int(problem.car[t])
    stuck = [x for x in (c, *problem.front[c]) if problem.cars[x].immovable and problem.moves[t]]
    for x in stuck:
        yield f"{problem.cars[x].label} able to be moved ({problem.cars[x].immovable})"


def _another_day(placing: Placing, t: int) -> Iterator[str]:
    """A pinned task that cannot stay: the nearest day that would take it."""
    problem, task = placing.problem, placing.task(t)
    if task.pinned_day is None or placing.day_of[t] != NOWHERE:
        return
    first = problem.request.days[0].day
    order = sorted(range(len(problem.request.days)), key=lambda d: abs(first + d - task.pinned_day))  # type: ignore[operator]
    for d in order[:14]:
        on = placing.on(d)
        if first + d != task.pinned_day and fits(problem, [*on, t], means_of(problem, d)):
            yield f"the pin moved to {spoken(first + d)}"
            return
