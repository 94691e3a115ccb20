"""What a finished plan is worth, in figures that people can compare."""

import numpy as np

from scheduler.week.place import Placing
from scheduler.week.result import Score
from scheduler.week.worth import NOWHERE, loads, moved, visited, worth

MINUTES_AN_HOUR = 60
PROVEN = 0.5  # prices are whole: closer than this is equal


def score(placing: Placing, seconds: float) -> Score:
    """Cost, bound, lateness, visits, moves, balance of the days."""
    problem, day_of = placing.problem, placing.day_of
    rolls = moved(problem, day_of)
    seen = visited(problem, day_of, rolls)
    first, last = problem.request.days[0].day, problem.request.days[-1].day
    late = [
        t
        for t in range(len(problem.tasks))
        if not placing.waits(t)
        and _is_late(first + int(day_of[t]), int(day_of[t]), placing.task(t).late, last)
    ]
    hands = problem.crew.minutes.sum(axis=0)
    share = loads(problem, day_of, rolls)[hands > 0] / hands[hands > 0]
    cost = worth(problem, day_of)
    bound = min(placing.bound, float(cost))
    return Score(
        cost=cost,
        bound=bound,
        gap=(cost - bound) / cost if cost else 0.0,
        proven=cost - bound < PROVEN,
        late_tasks=len(late),
        late_hours=sum(problem.tasks[t].minutes for t in late) / MINUTES_AN_HOUR,
        unplaced=sum(int(day_of[t]) == NOWHERE for t in late),
        visits=int(seen.sum()),
        moves=int(rolls.sum()),
        changed=_changed(placing),
        busiest_share=float(share.max(initial=0.0)),
        spread_share=float(np.std(share)) if share.size else 0.0,
        seconds=seconds,
    )


def _is_late(day: int, d: int, late: int, last: int) -> bool:
    return late <= last if d == NOWHERE else day > late


def _changed(placing: Placing) -> int:
    """Tasks of the previous plan that stand on another day now."""
    first, previous = placing.problem.request.days[0].day, placing.problem.request.previous
    return sum(
        task.key in previous and previous[task.key].day >= first and first + int(d) != previous[task.key].day
        for task, d in zip(placing.problem.tasks, placing.day_of, strict=True)
    )
