"""A request is hostile until checked: every fault names the field and what would mend it."""

from collections.abc import Iterable

from scheduler.vocabulary.errors import BadInput
from scheduler.week.request import Day, PlanRequest, Task
from scheduler.week.work import MOVE_RANK

MINUTES_A_DAY = 24 * 60


def checked(request: PlanRequest) -> PlanRequest:
    """The same request, sound: known keys, windows in order, no circle of cars blocking each other."""
    _days(request)
    _unique("cars", (car.key for car in request.cars))
    _unique("tasks", (task.key for task in request.tasks))
    _unique("buildings", (building.key for building in request.buildings))
    _unique("people", (person.key for person in request.people))
    cars = {car.key for car in request.cars}
    buildings = {building.key for building in request.buildings}
    people = {person.key for person in request.people}
    for car in request.cars:
        _known(f"building of car {car.key}", car.building, buildings)
        for front in car.blocked_by:
            _known(f"blocked_by of car {car.key}", front, cars)
    for task in request.tasks:
        _known(f"car of task {task.key}", task.car, cars)
        if task.pinned_person is not None:
            _known(f"pinned_person of task {task.key}", task.pinned_person, people)
        _task(task)
    fronts(request)
    return request


def fronts(request: PlanRequest) -> dict[str, tuple[str, ...]]:
    """For each car all those to be moved before it comes out, front-most first."""
    direct = {car.key: car.blocked_by for car in request.cars}
    known: dict[str, tuple[str, ...]] = {}
    for key in direct:
        _reach(key, direct, known, ())
    return known


def _reach(
    key: str, direct: dict[str, tuple[str, ...]], found: dict[str, tuple[str, ...]], path: tuple[str, ...]
) -> tuple[str, ...]:
    if key in path:
        ring = " → ".join((*path[path.index(key) :], key))
        raise BadInput("blocked_by", f"cars block each other in a circle ({ring}): correct one of them")
    if key not in found:
        nearer: dict[str, None] = {}
        for front in direct[key]:
            nearer.update(dict.fromkeys((*_reach(front, direct, found, (*path, key)), front)))
        found[key] = tuple(nearer)
    return found[key]


def _days(request: PlanRequest) -> None:
    if not request.days:
        raise BadInput("days", "there are none: give at least one day")
    for before, after in zip(request.days, request.days[1:], strict=False):
        if after.day != before.day + 1:
            raise BadInput("days", f"{after.day} follows {before.day}: give every day once, in order")
    for day in request.days:
        _hours(day)
    if request.move_minutes < 1:
        raise BadInput("move_minutes", f"{request.move_minutes} is not at least one minute")


def _hours(day: Day) -> None:
    if not 0 <= day.opens <= day.closes <= MINUTES_A_DAY:
        raise BadInput(
            "opens, closes", f"{day.opens} to {day.closes} on day {day.day} are not minutes of a day"
        )
    for name, amounts in (("staff_minutes", day.staff_minutes), ("equipment", day.equipment)):
        for key, amount in amounts.items():
            if amount < 0:
                raise BadInput(name, f"{key} has {amount} on day {day.day}: nothing is less than 0")


def _task(task: Task) -> None:
    if not task.early <= task.due <= task.late:
        raise BadInput(
            "early, due, late", f"task {task.key} has {task.early}, {task.due}, {task.late}: put in order"
        )
    if task.minutes < 1 or task.occupies < 0:
        raise BadInput("minutes", f"task {task.key} takes {task.minutes} min, occupies {task.occupies} min")
    if task.leaves_bay and task.rank <= MOVE_RANK:
        raise BadInput("rank", f"task {task.key} leaves the bay, so its rank must be above {MOVE_RANK}")


def _known(name: str, key: str, known: set[str]) -> None:
    if key not in known:
        raise BadInput(name, f"{key!r} is not in this request")


def _unique(name: str, keys: Iterable[str]) -> None:
    seen: set[str] = set()
    for key in keys:
        if key in seen:
            raise BadInput(name, f"{key!r} is there twice")
        seen.add(key)
