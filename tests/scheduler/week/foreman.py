"""The plain rule by hand, as a measure: most urgent car first, all that is open on it in one visit.

Urgent is the car with the earliest limit among what is due; a car of which nothing is due is left alone.
"""

import numpy as np

from scheduler.week.means import means_of
from scheduler.week.order import Orders
from scheduler.week.place import Placing
from scheduler.week.planner import written
from scheduler.week.problem import Bar, Problem, problem_of
from scheduler.week.request import PlanRequest
from scheduler.week.result import Plan
from scheduler.week.timetable import fits
from scheduler.week.worth import NOWHERE


def foreman(request: PlanRequest, days: int | None = None) -> Plan:
    """What the rule makes of a request, day by day (``days``: the first so many), by our timetable."""
    problem = problem_of(request)
    placing = Placing(problem, np.full(len(problem.tasks), NOWHERE), 0.0, Orders(problem))
    for d in range(days or len(request.days)):
        _one_day(placing, d)
    return written(request, placing, 0.0)


def _one_day(placing: Placing, d: int) -> None:
    problem, today = placing.problem, placing.problem.request.days[0].day + d
    means, on, seen = means_of(problem, d), list[int](), set[int]()
    while (c := _most_urgent(placing, d, today, seen)) is not None:
        seen.add(c)
        mine = [t for t in range(len(problem.tasks)) if problem.car[t] == c and _open(placing, t, d, today)]
        for t in sorted(mine, key=lambda t: (t in problem.warm, placing.task(t).late)):
            if placing.orders.allows(t, placing.day_of)[d] and fits(problem, [*on, t], means):
                placing.day_of[t] = d
                on.append(t)


def _open(placing: Placing, t: int, d: int, today: int) -> bool:
    if placing.day_of[t] != NOWHERE or placing.waits(t) or placing.task(t).early > today:
        return False
    return placing.problem.bar[t, d] in (Bar.OPEN, Bar.EARLY)


def _most_urgent(placing: Placing, d: int, today: int, seen: set[int]) -> int | None:
    problem: Problem = placing.problem
    limits = [
        (placing.task(t).late, int(problem.car[t]))
        for t in range(len(problem.tasks))
        if int(problem.car[t]) not in seen and _open(placing, t, d, today) and placing.task(t).due <= today
    ]
    return min(limits)[1] if limits else None


def visits(plan: Plan) -> int:
    """Cars opened or rolled, a day at a time."""
    return len({(p.car, p.day) for p in plan.placements} | {(m.car, m.day) for m in plan.moves})


def late_days(request: PlanRequest, plan: Plan) -> int:
    """Plain days late within the plan; what has no place is late until its end."""
    first, end = request.days[0].day, request.days[-1].day + 1
    late = sum(min(p.late_days, p.day - first) for p in plan.placements)
    nowhere = {u.task for u in plan.unfit if u.late_on is None}
    return late + sum(end - max(t.late, first) for t in request.tasks if t.key in nowhere)
