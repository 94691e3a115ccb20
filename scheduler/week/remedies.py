"""What would make tasks fit: single changes, each planned again with it before it is named."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

import numpy as np

from scheduler.week.ledger import Ledger
from scheduler.week.means import Means, if_open, means_of
from scheduler.week.place import Placing
from scheduler.week.problem import Bar, problem_of
from scheduler.week.request import Before, Day, PlanRequest
from scheduler.week.search import Search
from scheduler.week.timetable import fits
from scheduler.week.unfit import days_in_time, without
from scheduler.week.words import label, spoken
from scheduler.week.worth import NOWHERE

EXTRA_MINUTES = (15, 30, 60, 90, 120, 240)  # what may be asked of one person on one day (policy)
DAYS_TRIED = 3
MOST_TRIED = 8  # changes planned again; those that would help most tasks come first
Change = Callable[[PlanRequest], PlanRequest]


@dataclass(frozen=True)
class _Idea:
    text: str
    change: Change


def remedies(placing: Placing, tasks: list[int]) -> dict[int, tuple[str, ...]]:
    """For each of ``tasks`` (late, or without a place) the changes with which a new plan has it in time."""
    ideas: dict[str, _Idea] = {}
    helps: dict[str, int] = {}
    for t in tasks:
        for idea in _ideas(placing, t):
            ideas[idea.text] = idea
            helps[idea.text] = helps.get(idea.text, 0) + 1
    would: dict[int, tuple[str, ...]] = dict.fromkeys(tasks, ())
    for text in sorted(ideas, key=lambda text: -helps[text])[:MOST_TRIED]:
        for t in _fitted(placing, ideas[text].change, tasks):
            would[t] = (*would[t], text)
    return would


def _fitted(placing: Placing, change: Change, tasks: list[int]) -> list[int]:
    """Which of the tasks a new plan of the changed request has in time, all others staying as they are."""
    problem = placing.problem
    first = problem.request.days[0].day
    previous = {
        problem.tasks[t].key: Before(first + int(d), "") for t, d in enumerate(placing.day_of) if d != NOWHERE
    }
    again = problem_of(change(replace(problem.request, previous=previous)))
    search = Search(Ledger(again), again.request.seed)
    search.construct(np.zeros_like(again.cost))
    tried = Placing(again, search.ledger.day_of, 0.0, search.ledger.orders)
    if (tried.day_of == NOWHERE).sum() >= (placing.day_of == NOWHERE).sum() and _late(tried) >= _late(
        placing
    ):
        return []
    return [t for t in tasks if _in_time(tried, t)]


def _in_time(placing: Placing, t: int) -> bool:
    first, d = placing.problem.request.days[0].day, int(placing.day_of[t])
    return d != NOWHERE and first + d <= max(placing.task(t).late, first - 1)


def _late(placing: Placing) -> int:
    return sum(not _in_time(placing, t) for t in range(len(placing.day_of)))


def _ideas(placing: Placing, t: int) -> Iterator[_Idea]:
    """Single changes under which the timetable of one day has time, the days nearest to due first."""
    problem, task, days = placing.problem, placing.task(t), days_in_time(placing, t)
    first, others = problem.request.days[0].day, without(placing, t)
    ok = placing.orders.allows(t, others)
    near = sorted((int(d) for d in days if ok[d]), key=lambda d: abs(first + d - task.due))
    useful = [d for d in near if problem.bar[t, d] not in (Bar.CLOSED, Bar.WEATHER, Bar.BLOCKED)]
    for d in useful[:DAYS_TRIED]:
        yield from _more(placing, t, d, [int(o) for o in np.flatnonzero(others == d)])
    for d in [d for d in near if problem.bar[t, d] == Bar.CLOSED][:1]:
        if fits(problem, [t], if_open(problem, d)):
            yield _Idea(
                f"open on {spoken(first + d, first)}", _on_day(d, lambda day: replace(day, closed=""))
            )
    if not useful and (yard := [d for d in near if problem.bar[t, d] == Bar.WEATHER]):
        yield _Idea(
            f"the car under a roof by {spoken(first + yard[0], first)}", _under_roof(int(problem.car[t]))
        )
    yield from _free_car(placing, t)
    yield from _another_day(placing, t)


def _on_day(d: int, change: Callable[[Day], Day]) -> Change:
    return lambda request: replace(
        request, days=tuple(change(day) if at == d else day for at, day in enumerate(request.days))
    )


def _more(placing: Placing, t: int, d: int, on: list[int]) -> Iterator[_Idea]:
    problem, means = placing.problem, means_of(placing.problem, d)
    people, first = problem.request.people, problem.request.days[0].day
    when = spoken(first + d, first)
    if helped := _extra(placing, t, on, means):
        p, extra = helped
        yield _Idea(
            f"{extra} minutes more for {people[p].name} on {when}", _on_day(d, _longer(people[p].key, extra))
        )
    for name in problem.needs[t]:
        if fits(problem, [*on, t], means.another(name)):
            yield _Idea(f"another {name} on {when}", _on_day(d, _another(name)))
    able = [p for p in range(len(people)) if not problem.allowed[t, p] and means.minutes[p] > 0]
    for p in [p for p in able if fits(problem, [*on, t], means.may(t, p))][:1]:
        duty = problem.tasks[t].duty
        yield _Idea(f"{people[p].name} allowed to do {label(duty)}", _allowed(people[p].key, duty))


def _extra(placing: Placing, t: int, on: list[int], means: Means) -> tuple[int, int] | None:
    """The person and the least minutes more that give the task time; None: not within four hours."""
    for extra in EXTRA_MINUTES:
        for p in np.flatnonzero(placing.problem.allowed[t]):
            if fits(placing.problem, [*on, t], means.longer(int(p), extra)):
                return int(p), extra
    return None


def _longer(person: str, extra: int) -> Callable[[Day], Day]:
    def change(day: Day) -> Day:
        minutes = day.staff_minutes.get(person, 0) + extra
        closes = max(day.closes, min(day.opens + minutes, 24 * 60))
        return replace(day, staff_minutes={**day.staff_minutes, person: minutes}, closes=closes)

    return change


def _another(name: str) -> Callable[[Day], Day]:
    return lambda day: replace(day, equipment={**day.equipment, name: day.equipment.get(name, 0) + 1})


def _allowed(person: str, duty: str) -> Change:
    return lambda request: replace(
        request,
        people=tuple(
            replace(who, may=who.may | {duty}) if who.key == person else who for who in request.people
        ),
    )


def _car(place: int, **changes: str) -> Change:
    return lambda request: replace(
        request,
        cars=tuple(replace(car, **changes) if at == place else car for at, car in enumerate(request.cars)),  # type: ignore[arg-type]
    )


def _under_roof(place: int) -> Change:
    def change(request: PlanRequest) -> PlanRequest:
        roof = next((b.key for b in request.buildings if not b.open_air), request.cars[place].building)
        return _car(place, building=roof)(request)

    return change


def _free_car(placing: Placing, t: int) -> Iterator[_Idea]:
    problem = placing.problem
    c = int(problem.car[t])
    for x in (c, *problem.front[c]):
        car = problem.cars[x]
        if car.immovable and problem.moves[t]:
            yield _Idea(f"{car.label} able to be moved ({car.immovable})", _car(x, immovable=""))


def _another_day(placing: Placing, t: int) -> Iterator[_Idea]:
    """A pinned task that cannot stay: the nearest day that would take it."""
    problem, task = placing.problem, placing.task(t)
    if task.pinned_day is None or placing.day_of[t] != NOWHERE:
        return
    first, pinned = problem.request.days[0].day, task.pinned_day
    order: list[int] = sorted(range(len(problem.request.days)), key=lambda d: abs(first + d - pinned))
    for d in order[:14]:
        if first + d != pinned and fits(problem, [*placing.on(d), t], means_of(problem, d)):
            yield _Idea(f"the pin moved to {spoken(first + d, first)}", _pinned(task.key, first + d))
            return


def _pinned(key: str, day: int) -> Change:
    return lambda request: replace(
        request, tasks=tuple(replace(t, pinned_day=day) if t.key == key else t for t in request.tasks)
    )
