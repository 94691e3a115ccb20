"""The hard rules, checked on a finished plan by themselves: nothing here is shared with the planner."""

from collections import defaultdict
from collections.abc import Iterator
from itertools import pairwise

from scheduler.vocabulary.equipment import EXTRACTION, LIFT
from scheduler.week.request import Day, PlanRequest, Task
from scheduler.week.result import Move, Placement, Plan
from scheduler.week.work import BEFORE_WARMING, MOVING, WARMING

Sheet = list[Placement | Move]


def broken(request: PlanRequest, plan: Plan) -> tuple[str, ...]:
    """Every hard rule that the plan breaks, in words; empty for a plan that may be worked."""
    return tuple(
        fault
        for rule in (_days, _windows, _people, _order, _fronts, _equipment, _warm, _stabiliser, _pins)
        for fault in rule(request, plan)
    )


def _lookup(request: PlanRequest) -> tuple[dict[str, Task], dict[int, Day]]:
    return {task.key: task for task in request.tasks}, {day.day: day for day in request.days}


def _everything(plan: Plan) -> Sheet:
    """Placements and moves, a move that is a placement only once."""
    return [*(p for p in plan.placements if not p.by_moving), *plan.moves]


def _days(request: PlanRequest, plan: Plan) -> Iterator[str]:
    """Open, in hours, in weather fit for work; each task once."""
    _, days = _lookup(request)
    yard = {b.key for b in request.buildings if b.open_air}
    outside = {car.key for car in request.cars if car.building in yard}
    for done in _everything(plan):
        day = days.get(done.day)
        if day is None or day.closed or done.start < day.opens or done.start + done.minutes > day.closes:
            yield f"{done.car} on {done.day}: outside opening hours"
        elif done.car in outside and (day.storm or day.low_c < request.coldest_yard_c):
            yield f"{done.car} on {done.day}: yard work in foul weather"
    once = {(p.car, p.duty, p.day) for p in plan.placements}
    if len(once) < len(plan.placements) or len({p.task for p in plan.placements}) < len(plan.placements):
        yield "a task stands twice"


def _windows(request: PlanRequest, plan: Plan) -> Iterator[str]:
    """Not before the window, which moves with the task before; warm work may bring a run-up early."""
    tasks, _ = _lookup(request)
    for placement in plan.placements:
        task = tasks[placement.task]
        moved = 0
        if task.after:
            before = next((p.day for p in plan.placements if p.task == task.after), None)
            if before is None:
                yield f"{placement.task}: what it follows has no place"
                continue
            moved = before - max(tasks[task.after].due, request.days[0].day)
        oil = [t for t in tasks.values() if t.warm and t.car == task.car and t.late < task.early]
        early = min([task.early, *(max(t.early, t.late) for t in oil if task.duty in WARMING)]) + moved
        if task.held or (task.pinned_day is None and placement.day < early):
            yield f"{placement.task}: held, or before its window"


def _people(request: PlanRequest, plan: Plan) -> Iterator[str]:
    """Who may do what, one thing at a time with the way between buildings, no more than their minutes."""
    days = _lookup(request)[1]
    may = {person.key: person.may for person in request.people}
    house = {car.key: car.building for car in request.cars}
    sheets: dict[tuple[str, int], Sheet] = defaultdict(list)
    for done in _everything(plan):
        sheets[done.person, done.day].append(done)
        duty = done.duty if isinstance(done, Placement) else MOVING
        if duty not in may[done.person]:
            yield f"{done.person} may not do {duty}"
    for (person, day), sheet in sheets.items():
        sheet.sort(key=lambda done: done.start)
        way = request.visit_minutes  # up to the first car
        for one, other in pairwise(sheet):
            there, here = house[one.car], house[other.car]
            leg = (
                request.travel.get((there, here), request.travel.get((here, there), 0))
                if there != here
                else 0
            )
            leg += request.visit_minutes if one.car != other.car else 0
            way += leg
            if one.start + one.minutes + leg > other.start:
                yield f"{person} on {day}: {one.car} and {other.car} overlap"
        hours = days[day].staff_minutes.get(person, 0) if day in days else 0
        if way + sum(done.minutes for done in sheet) > hours:
            yield f"{person} on {day}: more than the hours"


def _order(request: PlanRequest, plan: Plan) -> Iterator[str]:
    """Steps at one car in the order of their ranks; what is bound (on charge) is waited for."""
    tasks = _lookup(request)[0]
    visits: dict[tuple[str, int], list[Placement]] = defaultdict(list)
    for placement in plan.placements:
        visits[placement.car, placement.day].append(placement)
    for (car, day), visit in visits.items():
        visit.sort(key=lambda p: tasks[p.task].rank)
        for one, other in pairwise(visit):
            bound = max(one.minutes, tasks[one.task].occupies)
            if one.start + bound > other.start:
                yield f"{car} on {day}: {other.duty} before {one.duty} is over"


def _fronts(request: PlanRequest, plan: Plan) -> Iterator[str]:
    """A car comes out only after all those in front of it; a car that may not be moved stays."""
    tasks, _ = _lookup(request)
    cars = {car.key: car for car in request.cars}
    moves = {(move.car, move.day): move for move in plan.moves}
    for move in plan.moves:
        if cars[move.car].immovable:
            yield f"{move.car} may not be moved"
        for front in cars[move.car].blocked_by:
            ahead = moves.get((front, move.day))
            if ahead is None or ahead.start + ahead.minutes > move.start:
                yield f"{move.car} on {move.day}: {front} is still in front"
    for placement in plan.placements:
        task = tasks[placement.task]
        stays = (cars[placement.car].runs_in_bay and task.duty in WARMING) or (
            bool(cars[placement.car].immovable) and LIFT in task.needs
        )
        if (task.leaves_bay and not stays) or placement.by_moving:
            out = moves.get((placement.car, placement.day))
            if out is None or out.start > placement.start:
                yield f"{placement.task}: the car is not out"


def _equipment(request: PlanRequest, plan: Plan) -> Iterator[str]:
    """Never more of one kind in use at once than there are."""
    tasks, days = _lookup(request)
    own_place = {car.key for car in request.cars if car.runs_in_bay}
    stuck = {car.key for car in request.cars if car.immovable}
    uses: dict[tuple[str, int], list[tuple[int, int]]] = defaultdict(list)
    for placement in plan.placements:
        task = tasks[placement.task]
        for name in task.needs if placement.day in days else ():
            if name == EXTRACTION and task.duty in WARMING and task.car in own_place:
                continue
            if name == LIFT and task.car in stuck:
                continue
            end = min(placement.start + max(task.minutes, task.occupies), days[placement.day].closes)
            uses[name, placement.day] += [(placement.start, 1), (end, -1)]
    for (name, day), changes in uses.items():
        in_use = 0
        for _, change in sorted(changes):
            in_use += change
            if in_use > days[day].equipment.get(name, 0):
                yield f"{name} on {day}: more in use than there are"
                break


def _warm(request: PlanRequest, plan: Plan) -> Iterator[str]:
    """Warm work only on a visit with a run-up, where the car is run up at all."""
    tasks, _ = _lookup(request)
    run = {task.car for task in request.tasks if task.duty in WARMING and not task.held}
    warm = {(p.car, p.day) for p in plan.placements if p.duty in WARMING}
    for placement in plan.placements:
        if tasks[placement.task].warm and placement.car in run and (placement.car, placement.day) not in warm:
            yield f"{placement.task}: the engine is cold"


def _stabiliser(request: PlanRequest, plan: Plan) -> Iterator[str]:
    """The run-up that draws the stabiliser in does not come before it."""
    tasks, _ = _lookup(request)
    at = {placement.task: placement.day for placement in plan.placements}
    for task in request.tasks:
        runs = [
            t
            for t in tasks.values()
            if t.car == task.car and t.duty in WARMING and not t.held and t.late >= task.early
        ]
        if task.duty in BEFORE_WARMING and task.key in at and runs:
            draws = min(runs, key=lambda t: t.due)
            if at.get(draws.key, at[task.key]) < at[task.key]:
                yield f"{task.key}: the fuel is drawn in before it is stabilised"


def _pins(request: PlanRequest, plan: Plan) -> Iterator[str]:
    """What a person chose stands where they chose it, or not at all."""
    tasks, _ = _lookup(request)
    for placement in plan.placements:
        task = tasks[placement.task]
        if task.pinned_day not in (None, placement.day) or task.pinned_person not in (None, placement.person):
            yield f"{placement.task}: not where it was pinned"
