"""One day in minutes: who is at which car when, one exhaust place at a time, in walking order."""

import heapq
from collections.abc import Iterable
from dataclasses import dataclass, field

from scheduler.week.chains import Step, Stretch, steps_by_car, stretches_of, walk_key
from scheduler.week.means import Means
from scheduler.week.problem import Problem


@dataclass(frozen=True)
class Entry:
    """One step on the worksheet: person (position), start (minutes from midnight)."""

    step: Step
    person: int
    start: int


@dataclass(frozen=True)
class Sheet:
    """A day's worksheet, and the tasks that found no time on it."""

    entries: tuple[Entry, ...]
    left: tuple[int, ...]


@dataclass
class _Clock:
    """How far the day is spent: each person's time and place, each piece of equipment's end."""

    free: list[int]
    busy: list[int]
    at: list[int | None]
    gear: dict[str, list[int]]
    over: dict[int, int] = field(default_factory=dict)
    entries: list[Entry] = field(default_factory=list)


@dataclass(frozen=True)
class _Try:
    person: int
    starts: tuple[int, ...]
    gear: dict[str, list[int]]
    travel: int
    end: int
    idle: int


def timetable(problem: Problem, tasks: Iterable[int], means: Means) -> Sheet:
    """The worksheet of ``tasks`` in a day with ``means``; what does not fit is left, least urgent first."""
    doing, left = list(tasks), list[int]()
    while True:
        stretches = stretches_of(problem, steps_by_car(problem, doing, means))
        clock, stuck = _run(problem, stretches, means)
        if not stuck:
            return Sheet(tuple(sorted(clock.entries, key=lambda e: (e.person, e.start))), tuple(left))
        for victim in _victims(problem, stuck, doing):
            doing.remove(victim)
            left.append(victim)


def fits(problem: Problem, tasks: Iterable[int], means: Means) -> bool:
    """Whether all the tasks find time in one day."""
    stretches = stretches_of(problem, steps_by_car(problem, tasks, means))
    return not _run(problem, stretches, means, first_only=True)[1]


def _victims(problem: Problem, stuck: list[Stretch], doing: list[int]) -> list[int]:
    """The least urgent task of the first stretch that is stuck, and what cannot be done without it."""
    car, among = stuck[0].car, stuck[0].tasks()
    if not among:  # a move only: what it is for is given up
        among = [
            t for t in doing if problem.moves[t] and car in (problem.car[t], *problem.front[problem.car[t]])
        ]
    if all(problem.tasks[t].pinned_day is not None for t in among):  # a pin stays: another task gives way
        among = [t for t in doing if problem.tasks[t].pinned_day is None] or among
    victim = max(among, key=lambda t: (problem.tasks[t].pinned_day is None, problem.tasks[t].late, t))
    warm = [t for t in doing if victim in problem.warm.get(t, ())]
    return [victim, *(t for t in warm if t != victim)]


def _run(
    problem: Problem, stretches: list[Stretch], means: Means, first_only: bool = False
) -> tuple[_Clock, list[Stretch]]:
    people = len(means.minutes)
    gear = {name: [means.opens] * count for name, count in means.gear.items()}
    clock = _Clock([means.opens] * people, [0] * people, [None] * people, gear)
    waiting = {i: set(s.waits) for i, s in enumerate(stretches)}
    awaited = {w for s in stretches for w in s.waits}  # what others wait for comes first
    keys = [(i not in awaited, *walk_key(problem, s.car)) for i, s in enumerate(stretches)]
    queue = [(means.opens, keys[i], i) for i, s in enumerate(stretches) if not s.waits]
    heapq.heapify(queue)
    stuck: list[Stretch] = []
    while queue:
        when, walk, i = heapq.heappop(queue)
        ready = max([means.opens, *(clock.over[w] for w in stretches[i].waits)])
        tried = _best(problem, stretches[i], means, clock, ready)
        if tried is None:
            stuck.append(stretches[i])
            if first_only:
                break
            continue
        begins = tried.starts[0]
        if tried.idle and begins > when and queue and queue[0][0] < begins:
            heapq.heappush(queue, (begins, walk, i))  # someone would stand idle: other work first
            continue
        clock.over[i] = _enter(stretches[i], tried, clock)
        for j, rest in waiting.items():
            if i in rest:
                rest.discard(i)
                if not rest:
                    at = max([means.opens, *(clock.over[w] for w in stretches[j].waits)])
                    heapq.heappush(queue, (at, keys[j], j))
    return clock, stuck


def _best(problem: Problem, stretch: Stretch, means: Means, clock: _Clock, ready: int) -> _Try | None:
    """Whoever did it in the last plan if it fits, else whoever is done first."""
    tries = [
        tried
        for p in stretch.people
        if (tried := _attempt(problem, stretch, means, clock, ready, p)) is not None
    ]
    before = {
        was.person
        for t in stretch.tasks()
        if (was := problem.request.previous.get(problem.tasks[t].key)) is not None
    }
    keys = problem.crew.keys
    return min(tries, key=lambda t: (keys[t.person] not in before, t.end, t.person), default=None)


def _attempt(
    problem: Problem, stretch: Stretch, means: Means, clock: _Clock, ready: int, p: int
) -> _Try | None:
    travel = _way(problem, clock.at[p], stretch.car)
    spent = clock.busy[p] + travel + stretch.minutes
    arrives = clock.free[p] + travel
    now = max(arrives, ready)
    if spent > means.minutes[p] or now + stretch.minutes > means.closes:
        return None
    starts: list[int] = []
    gear = {name: list(clock.gear.get(name, ())) for name in stretch.needs}
    for step in stretch.steps:
        if not all(gear[name] for name in step.needs):
            return None
        now = max([now, *(min(gear[name]) for name in step.needs)])
        starts.append(now)
        for name in step.needs:
            ends = gear[name]
            ends[ends.index(min(ends))] = min(now + step.occupies, max(means.closes, now + step.minutes))
        now += step.minutes
    if now > means.closes:
        return None
    return _Try(p, tuple(starts), gear, travel, now, starts[0] - arrives)


def _enter(stretch: Stretch, tried: _Try, clock: _Clock) -> int:
    """Write the stretch down; the time at which the car is free again."""
    p = tried.person
    clock.entries += [Entry(step, p, start) for step, start in zip(stretch.steps, tried.starts, strict=True)]
    clock.free[p], clock.at[p] = tried.end, stretch.car
    clock.busy[p] += tried.travel + stretch.minutes
    clock.gear.update(tried.gear)
    last = stretch.steps[-1]
    return max(tried.end, tried.starts[-1] + last.occupies)


def _way(problem: Problem, at: int | None, car: int) -> int:
    """Minutes before work begins at ``car``, coming from another: the walk, the cover."""
    if at == car:
        return 0
    house, request = int(problem.building[car]), problem.request
    if at is None or problem.building[at] == house:
        return request.visit_minutes
    one, other = request.buildings[problem.building[at]].key, request.buildings[house].key
    return request.visit_minutes + request.travel.get((one, other), request.travel.get((other, one), 0))
