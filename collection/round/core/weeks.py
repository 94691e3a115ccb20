"""One site's plan: worked out by the core, stored as computed rows, kept true."""

from dataclasses import asdict
from datetime import date, datetime, timedelta

from django.db import transaction

from collection.models import Assignment, Site, SitePlan, Unplaced
from collection.round.core.facts import PLAN_DAYS, SiteFacts
from collection.round.core.request import request_of, year_ahead
from scheduler.vocabulary.errors import BadInput
from scheduler.week.planner import plan
from scheduler.week.request import PlanRequest
from scheduler.week.result import Move, Plan


def plan_site(facts: SiteFacts, *, now: datetime, steps: int) -> SitePlan | None:
    """Work the plan out and store it in place of the old one; None where no hands are recorded.

    Facts that the planner refuses give a plan without any steps that says what to mend.
    """
    if not facts.hands:
        SitePlan.objects.filter(site=facts.site).delete()
        return None
    request, between = request_of(facts, steps=steps)
    try:
        planned = plan(request)
    except BadInput as fault:
        return _store(facts, now, {"fault": str(fault)}, [], None)
    score = asdict(planned.score) | {"later": len(planned.later), "held": len(planned.held)}
    return _store(facts, now, score, year_ahead(facts, between), (request, planned))


def first_plan(site: Site, now: datetime) -> tuple[SitePlan, bool]:
    """The site's plan, or one that says nothing yet of any day; and whether it is that."""
    today = now.date()
    empty = {
        "computed_for": today,
        "computed_at": now,
        "last_day": today - timedelta(days=1),
        "asked_at": now,
    }
    return SitePlan.objects.get_or_create(site=site, defaults=empty)


def _store(
    facts: SiteFacts,
    now: datetime,
    score: dict[str, object],
    year: list[tuple[str, str, int, int]],
    made: tuple[PlanRequest, Plan] | None,
) -> SitePlan:
    values = {
        "fingerprint": facts.fingerprint(),
        "computed_for": facts.today,
        "computed_at": now,
        "asked_at": None,
        "stamp": "",
        "last_day": facts.today + timedelta(days=PLAN_DAYS - 1),
        "score": score,
        "year": [list(line) for line in year],
    }
    with transaction.atomic():
        values["score"] = score | {"before": _before(facts)}
        row, _ = SitePlan.objects.update_or_create(site=facts.site, defaults=values)
        row.assignments.all().delete()
        row.unplaced.all().delete()
        if made is not None:
            names = {str(car.pk): str(car) for car in facts.vehicles}
            Assignment.objects.bulk_create(_steps(row, made[1], names), batch_size=500)
            late = {task.key: date.fromordinal(task.late) for task in made[0].tasks}
            Unplaced.objects.bulk_create(_unplaced(row, made[1], late), batch_size=500)
    return row


def _before(facts: SiteFacts) -> dict[str, object]:
    """The day and due day of each task in the last plan of an earlier day, with that day; {}: none yet."""
    old = SitePlan.objects.filter(site=facts.site).first()
    if old is None or old.last_day < old.computed_for:
        return {}
    if old.computed_for == facts.today:
        kept: dict[str, object] = old.score.get("before", {})
        return kept
    rows = [row for row in old.assignments.all() if row.is_first]
    days = {row.key: [str(row.day), str(row.due)] for row in rows}
    return {"on": str(old.computed_for), "days": days}


def _steps(row: SitePlan, planned: Plan, names: dict[str, str]) -> list[Assignment]:
    """Tasks, and the moves that are nothing but moves; a move that is a task stands once."""
    tasks = [
        Assignment(
            plan=row,
            vehicle_id=int(it.car),
            key=it.task,
            duty=it.duty,
            day=date.fromordinal(it.day),
            person_id=int(it.person),
            start=it.start,
            minutes=it.minutes,
            order=it.order,
            late_days=it.late_days,
            due=date.fromordinal(it.due),
            reason=it.reason[:400],
        )
        for it in planned.placements
    ]
    return tasks + [_rolled(row, move, names) for move in planned.moves if move.task is None]


def _rolled(row: SitePlan, move: Move, names: dict[str, str]) -> Assignment:
    behind = ", ".join(names[car] for car in move.to_reach)
    why = f"Rolled out and back to reach {behind}." if behind else "Rolled out for its own work and back."
    return Assignment(
        plan=row,
        vehicle_id=int(move.car),
        key=f"{move.car}/out",
        day=date.fromordinal(move.day),
        person_id=int(move.person),
        start=move.start,
        minutes=move.minutes,
        order=move.order,
        reason=why[:400],
    )


def _unplaced(row: SitePlan, planned: Plan, late: dict[str, date]) -> list[Unplaced]:
    return [
        Unplaced(
            plan=row,
            vehicle_id=int(it.car),
            key=it.task,
            duty=it.duty,
            why=it.why[:600],
            would_fit=list(it.would_fit),
            late=late[it.task],
            late_on=None if it.late_on is None else date.fromordinal(it.late_on),
        )
        for it in planned.unfit
    ]
