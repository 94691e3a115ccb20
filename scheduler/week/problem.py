"""A request as arrays: what may be done on which day, at what price, and why not elsewhere."""

from dataclasses import dataclass, replace
from enum import IntEnum

import numpy as np
import numpy.typing as npt

from scheduler.vocabulary.equipment import EXTRACTION, LIFT
from scheduler.week.checked import fronts
from scheduler.week.prices import costs, unplaced
from scheduler.week.relations import after, ahead, alike, run_early, warm
from scheduler.week.request import Car, PlanRequest, Task
from scheduler.week.work import MOVING, WARMING

Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]
Codes = npt.NDArray[np.int8]


class Bar(IntEnum):
    """Why a task may not be done on a day; OPEN where it may. The first that holds is given."""

    OPEN = 0
    PINNED = 1
    CLOSED = 2
    WEATHER = 3
    NOBODY = 4
    BLOCKED = 5
    HOURS = 6
    EQUIPMENT = 7
    EARLY = 8  # and nothing else


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
    ``ahead``: (first, then) pairs that keep their order across days. ``after`` (n,): the task that each
    follows, with whose day its window moves (-1: none).
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
    after: tuple[int, ...]


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
    cars = {car.key: car for car in request.cars}
    tasks = run_early(tuple(_in_place(task, cars[task.car]) for task in request.tasks if not task.held))
    place = {car.key: i for i, car in enumerate(request.cars)}
    houses = {building.key: i for i, building in enumerate(request.buildings)}
    reach = fronts(request)
    crew = crew_of(request)
    moves = np.array([task.leaves_bay or task.duty == MOVING for task in tasks], dtype=np.bool_)
    needs = tuple(task.needs for task in tasks)
    parts = _Parts(
        request,
        tasks,
        crew,
        moves,
        car=np.array([place[task.car] for task in tasks], dtype=np.int64),
        building=np.array([houses[car.building] for car in request.cars], dtype=np.int64),
        front=tuple(tuple(place[key] for key in reach[car.key]) for car in request.cars),
        equipment={
            name: np.array([day.equipment.get(name, 0) for day in request.days], dtype=np.int64)
            for name in sorted({name for names in needs for name in names})
        },
    )
    cost = costs(tasks, request)
    return Problem(
        request=request,
        tasks=tasks,
        cars=request.cars,
        car=parts.car,
        building=parts.building,
        minutes=np.array([0 if t.duty == MOVING else t.minutes for t in tasks], dtype=np.int64),
        occupies=np.array([max(t.occupies, t.minutes) for t in tasks], dtype=np.int64),
        moves=moves,
        allowed=_allowed(parts),
        movers=_movers(request),
        needs=needs,
        bar=_bars(parts),
        cost=cost,
        crew=crew,
        unplaced_cost=unplaced(tasks, request),
        equipment=parts.equipment,
        front=parts.front,
        warm=warm(tasks),
        ahead=ahead(tasks),
        alike=alike(tasks),
        after=after(tasks),
    )


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


def _in_place(task: Task, car: Car) -> Task:
    """What is done where the car stands: a run-up beside extraction; lift work, if it cannot be moved."""
    if task.duty in WARMING and car.runs_in_bay:
        return replace(task, leaves_bay=False, needs=tuple(name for name in task.needs if name != EXTRACTION))
    if LIFT in task.needs and car.immovable:
        return replace(task, leaves_bay=False, needs=tuple(name for name in task.needs if name != LIFT))
    return task


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
    open_air = np.array([building.open_air for building in request.buildings], dtype=np.bool_)
    return np.asarray(open_air[:, None] & bad[None, :], dtype=np.bool_)


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
            (Bar.PINNED, elsewhere),
            (Bar.CLOSED, closed),
            (Bar.WEATHER, foul[c]),
            (Bar.NOBODY, most == 0),
            (Bar.BLOCKED, jammed),
            (Bar.HOURS, most < needed),
            (Bar.EQUIPMENT, usable < 1),
            (Bar.EARLY, early),
        )
        for reason, holds in reversed(reasons):
            bars[i, holds] = reason
    return bars
