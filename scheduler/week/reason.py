"""Why a task stands on its day, in words, from what the plan really does that day."""

from scheduler.week.place import Placing
from scheduler.week.words import counted, label, listed, spoken
from scheduler.week.work import MOVING


def reason(placing: Placing, t: int) -> str:
    """One or two sentences: what fixed the day, and what it shares the visit with."""
    problem, task = placing.problem, placing.task(t)
    day = problem.request.days[0].day + int(placing.day_of[t])
    parts = [_day_words(placing, t, day)]
    beside = [o for o in placing.on(int(placing.day_of[t])) if problem.car[o] == problem.car[t] and o != t]
    behind = _reached(placing, t) if task.duty == MOVING else ()
    if behind:
        parts.append(f"The car is rolled out that day anyway to reach {listed(behind)}.")
    elif beside:
        parts.append(f"One visit with {listed(label(problem.tasks[o].duty) for o in beside)}.")
    if task.wanted:
        parts.append(f"For {task.wanted}.")
    if any(o in problem.warm.get(t, ()) for o in beside):
        parts.append("After the run-up, while the oil is warm.")
    before = problem.after[t]
    if before >= 0 and problem.tasks[before].duty != task.duty:
        parts.append(f"After the {label(problem.tasks[before].duty)}, and not without it.")
    wanted = [o for o in beside if t in problem.warm.get(o, ()) and problem.tasks[o].late < task.due]
    if wanted and day < task.due:
        parts.append(
            f"Run early for {listed(label(problem.tasks[o].duty) for o in wanted)}, which is due before it."
        )
    return " ".join(parts)


def _day_words(placing: Placing, t: int, day: int) -> str:
    task = placing.task(t)
    request = placing.problem.request
    before, first = request.previous.get(task.key), request.days[0].day
    if task.pinned_day is not None:
        return "Pinned to this day by hand."
    if day > task.late:
        return f"Late by {counted(day - task.late, 'day')}: the limit was {spoken(task.late, first)}."
    kept = " Kept where the last plan had it." if before is not None and before.day == day else ""
    if day <= task.due:
        ahead = f", {counted(task.due - day, 'day')} ahead" if task.due > day else ""
        return f"Due {spoken(task.due, first)}{ahead}.{kept}"
    return f"Due {spoken(task.due, first)}, within its limit of {spoken(task.late, first)}.{kept}"


def _reached(placing: Placing, t: int) -> tuple[str, ...]:
    """The cars behind this one that come out the same day."""
    problem, c = placing.problem, placing.problem.car[t]
    out = {int(problem.car[o]) for o in placing.on(int(placing.day_of[t])) if problem.moves[o]}
    return tuple(problem.cars[x].label for x in sorted(out) if c in problem.front[x])
