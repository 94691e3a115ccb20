"""A request as arrays: what may be done on which day, at what price, and why not elsewhere."""

from dataclasses import dataclass, replace
from enum import IntEnum

import numpy as np
import numpy.typing as npt

from scheduler.week.checked import fronts
from scheduler.week.request import Car, PlanRequest, Task
from scheduler.week.work import EXTRACTION

Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]
Codes = npt.NDArray[np.int8]

PINNED = 10  # what a person chose is given up last
RUN_UP, MOVING, STABILISER = "run_up", "tyre_move", "stabiliser"


class Bar(IntEnum):
    """Why a task may not be done on a day; OPEN where it may. The first that holds is given."""

    OPEN = 0
    EARLY = 1
    PINNED = 2
    CLOSED = 3
    WEATHER = 4
    NOBODY = 5
    BLOCKED = 6
    HOURS = 7
    EQUIPMENT = 8


@dataclass(frozen=True)
class Crew:
    """Who works when: ``minutes`` (people, days), nil where closed."""

    keys: tuple[str, ...]
    minutes: Ints
    opens: Ints
    closes: Ints


@dataclass(frozen=True)
class Problem:
    """Unheld tasks (n,), cars (m,), days (D,); each task's ``bar`` and ``cost`` are (n, D).

    ``minutes`` is nil for a task that the car's move does; ``moves``: the car rolls for this task.
    ``allowed``: people who may (n, P); ``movers`` (P,): people who may move cars.
    ``front``: all cars to move before a car comes out; ``warm``: run-ups that a task must go with;
    ``ahead``: (first, then) pairs that keep their order across days.
    """

    request: PlanRequest
    tasks: tuple[Task, ...]
    cars: tuple[Car, ...]
    car: Ints
    building: Ints
    minutes: Ints
    occupies: Ints
    moves: Bools
    allowed: Bools
    movers: Bools
    needs: tuple[tuple[str, ...], ...]
    bar: Codes
    cost: Ints
    unplaced_cost: Ints
    crew: Crew
    equipment: dict[str, Ints]
    front: tuple[tuple[int, ...], ...]
    warm: dict[int, tuple[int, ...]]
    ahead: tuple[tuple[int, int], ...]
    alike: tuple[tuple[int, ...], ...]


def crew_of(request: PlanRequest) -> Crew:
    """Everyone's minutes by day: never more than the opening hours, none on a closed day."""
    opens = np.array([day.opens for day in request.days])
    closes = np.array([day.opens if day.closed else day.closes for day in request.days])
    keys = tuple(person.key for person in request.people)
    minutes = np.array(
        [[day.staff_minutes.get(key, 0) for day in request.days] for key in keys], dtype=np.int64
    ).reshape(len(keys), len(request.days))
    return Crew(keys, np.minimum(minutes, closes - opens), opens, closes)


def problem_of(request: PlanRequest) -> Problem:
    """The arrays of a sound request; held tasks are left out."""
    own_place = {car.key for car in request.cars if car.runs_in_bay}
    tasks = tuple(_in_place(task, own_place) for task in request.tasks if not task.held)
    place = {car.key: i for i, car in enumerate(request.cars)}
    houses = {building.key: i for i, building in enumerate(request.buildings)}
    reach = fronts(request)
    crew = crew_of(request)
    moves = np.array([task.leaves_bay or task.duty == MOVING for task in tasks], dtype=np.bool_)
    needs = tuple(task.needs for task in tasks)
    parts = _Parts(
        request, tasks, crew, moves,
        car=np.array([place[task.car] for task in tasks], dtype=np.int64),
        building=np.array([houses[car.building] for car in request.cars], dtype=np.int64),
        front=tuple(tuple(place[key] for key in reach[car.key]) for car in request.cars),
        equipment={
            name: np.array([day.equipment.get(name, 0) for day in request.days], dtype=np.int64)
            for name in sorted({name for names in needs for name in names})
        },
    )  # fmt: skip
    cost = _costs(parts)
    return Problem(
        request=request, tasks=tasks, cars=request.cars, car=parts.car, building=parts.building,
        minutes=np.array([0 if t.duty == MOVING else t.minutes for t in tasks], dtype=np.int64),
        occupies=np.array([max(t.occupies, t.minutes) for t in tasks], dtype=np.int64),
        moves=moves, allowed=_allowed(parts), movers=_movers(request), needs=needs, bar=_bars(parts),
        cost=cost, crew=crew, unplaced_cost=_unplaced(parts, cost),
        equipment=parts.equipment, front=parts.front, warm=_warm(tasks), ahead=_ahead(tasks),
        alike=_alike(tasks),
    )  # fmt: skip


@dataclass(frozen=True)
class _Parts:
    request: PlanRequest
    tasks: tuple[Task, ...]
    crew: Crew
    moves: Bools
    car: Ints
    building: Ints
    front: tuple[tuple[int, ...], ...]
    equipment: dict[str, Ints]


def _in_place(task: Task, own_place: set[str]) -> Task:
    """A run-up where there is extraction at the bay moves nothing and takes no shared place."""
    if task.duty != RUN_UP or task.car not in own_place:
        return task
    return replace(task, leaves_bay=False, needs=tuple(name for name in task.needs if name != EXTRACTION))


def _movers(request: PlanRequest) -> Bools:
    return np.array([MOVING in person.may for person in request.people], dtype=np.bool_)


def _allowed(parts: _Parts) -> Bools:
    people = parts.request.people
    pinned = [task.pinned_person for task in parts.tasks]
    return np.array(
        [
            [task.duty in who.may and chosen in (None, who.key) for who in people]
            for task, chosen in zip(parts.tasks, pinned, strict=True)
        ],
        dtype=np.bool_,
    ).reshape(len(parts.tasks), len(people))


def _days(request: PlanRequest) -> Ints:
    return np.array([day.day for day in request.days], dtype=np.int64)


def _foul(request: PlanRequest) -> Bools:
    """Buildings × days on which the weather forbids work there, (b, D)."""
    bad = np.array([day.storm or day.low_c < request.coldest_yard_c for day in request.days])
    return np.array([building.open_air for building in request.buildings])[:, None] & bad[None, :]


def _bars(parts: _Parts) -> Codes:
    """The first reason against each task on each day, (n, D)."""
    request, crew = parts.request, parts.crew
    days, foul = _days(request), _foul(request)[parts.building]
    bars = np.zeros((len(parts.tasks), len(days)), dtype=np.int8)
    closed = crew.closes <= crew.opens
    stuck = np.array([bool(car.immovable) for car in request.cars], dtype=np.bool_)
    allowed, movers = _allowed(parts), _movers(request)
    roll = np.where(movers[:, None], crew.minutes, 0).max(axis=0, initial=0) >= request.move_minutes
    for i, task in enumerate(parts.tasks):
        c = parts.car[i]
        front = list(parts.front[c])
        most = crew.minutes[allowed[i]].max(axis=0, initial=0)
        usable = np.min([parts.equipment[name] for name in task.needs] or [np.ones_like(days)], axis=0)
        jammed = (foul[front].any(axis=0) | stuck[[*front, c]].any() | ~roll) if parts.moves[i] else closed
        early = days < task.early if task.pinned_day is None else np.zeros_like(closed)
        elsewhere = np.zeros_like(closed) if task.pinned_day is None else days != task.pinned_day
        needed = request.move_minutes if task.duty == MOVING else task.minutes
        reasons = (
            (Bar.EARLY, early), (Bar.PINNED, elsewhere), (Bar.CLOSED, closed), (Bar.WEATHER, foul[c]),
            (Bar.NOBODY, most == 0), (Bar.BLOCKED, jammed), (Bar.HOURS, most < needed),
            (Bar.EQUIPMENT, usable < 1),
        )  # fmt: skip
        for reason, holds in reversed(reasons):
            bars[i, holds] = reason
    return bars


def _costs(parts: _Parts) -> Ints:
    """The price of each task on each day apart from visits, moves and level, (n, D)."""
    request, w = parts.request, parts.request.weights
    days = _days(request)[None, :]
    first = int(days[0, 0])
    due = np.array([max(task.due, first) for task in parts.tasks])[:, None]
    late = np.array([max(task.late, first - 1) for task in parts.tasks])[:, None]
    after = np.maximum(days - late, 0)
    cost = w.early_day * np.maximum(due - days, 0) + w.after_due_day * np.maximum(days - due, 0)
    cost = cost + np.where(after > 0, w.late + w.late_day * after, 0)
    was = np.array([_previous_day(task.key, request) for task in parts.tasks])[:, None]
    changed = np.where((was >= first) & (was != days), w.changed, 0)
    return np.asarray((cost + changed).reshape(len(parts.tasks), days.size), dtype=np.int64)


def _unplaced(parts: _Parts, cost: Ints) -> Ints:
    """The price of leaving each task out, (n,): little if its window runs on past the plan."""
    w, last = parts.request.weights, parts.request.days[-1].day
    worst = cost.max(axis=1, initial=0)
    prices = []
    for task, most in zip(parts.tasks, worst, strict=True):
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


def _by_car(tasks: tuple[Task, ...], duty: str) -> dict[str, list[int]]:
    found: dict[str, list[int]] = {}
    for i, task in enumerate(tasks):
        if task.duty == duty:
            found.setdefault(task.car, []).append(i)
    return found


def _warm(tasks: tuple[Task, ...]) -> dict[int, tuple[int, ...]]:
    """Tasks that want a warm engine, with the same car's run-ups; a car without run-ups has none."""
    run_ups = _by_car(tasks, RUN_UP)
    return {i: tuple(run_ups[task.car]) for i, task in enumerate(tasks) if task.warm and task.car in run_ups}


def _ahead(tasks: tuple[Task, ...]) -> tuple[tuple[int, int], ...]:
    """Each stabiliser with the first run-up that may draw it in."""
    run_ups = _by_car(tasks, RUN_UP)
    pairs = []
    for i, task in enumerate(tasks):
        if task.duty == STABILISER:
            later = [r for r in run_ups.get(task.car, ()) if tasks[r].late >= task.early]
            if later:
                pairs.append((i, min(later, key=lambda r: tasks[r].due)))
    return tuple(pairs)


def _alike(tasks: tuple[Task, ...]) -> tuple[tuple[int, ...], ...]:
    """The same duty several times at one car: never twice on a day."""
    groups: dict[tuple[str, str], list[int]] = {}
    for i, task in enumerate(tasks):
        groups.setdefault((task.car, task.duty), []).append(i)
    return tuple(tuple(group) for group in groups.values() if len(group) > 1)
