"""A long-stood car: evidence, standing time, outlook, plan with its gates, permissions, cost."""

from datetime import date, datetime
from typing import Any
from uuid import UUID

from django.core.exceptions import ValidationError
from ninja import Field, Router, Schema

from collection.api.door import ApiRequest, operation
from collection.api.shapes import Id, Known, Whom, describe_person
from collection.care import core as choices
from collection.care.queries.care import zone_of
from collection.permissions import READ_CARS
from collection.recommission.core.plan import Recommissioning, build_recommissioning
from collection.recommission.queries import recommissioning_record
from collection.recommission.words import clashes, excluded

router = Router(tags=["Recommissioning"])


class Find(Schema):
    """One piece of evidence of when it last moved, ran, was driven or was looked after."""

    id: UUID
    kind: str
    on: date | None
    until: date | None
    odometer_km: float | None
    code: Known
    count: int | None
    event: Known
    answers: list[str]
    note: Known
    by: Whom
    recorded_at: datetime

    @staticmethod
    def resolve_by(obj: Any, context: Any) -> dict[str, Any]:
        """The name only with its scope."""
        return describe_person(obj.by, context)


class Interval(Schema):
    """When a last event happened."""

    not_before: date | None
    not_after: date
    not_before_by: str
    not_after_by: str
    contradictory: bool


class EventTold(Schema):
    """One last event, by hard evidence alone and with the soft."""

    event: str
    hard: Interval
    with_soft: Interval

    @staticmethod
    def resolve_event(obj: Any) -> str:
        """In words."""
        return str(obj.event.value)


class Words(Schema):
    """Two pieces of evidence that contradict each other."""

    first: str
    second: str
    text: str


class Outlook(Schema):
    """What standing has probably done to one system; likelihoods from 0 to 1."""

    system: str
    label: str
    low: float
    likely: float
    high: float
    words: str
    state: str
    reasons: list[str]
    first_look: str
    do_not: str
    source: str


class CheckTold(Schema):
    """One check of the plan as it stands."""

    check: str
    do: str
    measure: str
    caution: str
    hazard: str
    state: str
    next_action: str


class StageTold(Schema):
    """One stage as it stands."""

    stage: str
    title: str
    state: str
    waits_for: list[str]
    checks: list[CheckTold]


class Allowed(Schema):
    """One permission: given or not, and every reason that stands in its way."""

    permission: str = Field(validation_alias="label", examples=["may crank"])
    given: bool
    reasons: list[str]


class CostTold(Schema):
    """An estimate: low, likely, high; not a quotation. Of a car in care: what is asked for now."""

    currency: str = Field(description="The organisation's money as it is written; empty where it has none.")
    hours: list[float]
    parts: list[float]
    money: list[float]
    waiting_days: list[float]


class WakingTold(Schema):
    """The whole recommissioning of one car."""

    car_id: int
    underway: bool = Field(description="It stood, history unknown: every gate counts.")
    shortest_days: float
    longest_days: float | None = Field(description="Null: nobody knows.")
    conditions: list[str]
    evidence: list[Find]
    events: list[EventTold]
    contradictions: list[Words]
    excluded: list[str]
    outlook: list[Outlook]
    stages: list[StageTold]
    permissions: list[Allowed]
    open_tasks: list[str]
    estimate: CostTold


@operation(
    router, "GET", "/cars/{car_id}/waking", scope=READ_CARS, response=WakingTold, summary="Recommissioning"
)
def read_waking(request: ApiRequest, car_id: Id) -> Any:
    """Evidence, standing time, outlook, stages, permissions, cost. 422 where the record cannot be read."""
    car = request.access.vehicle(car_id)
    record, today = recommissioning_record(car), request.now.astimezone(zone_of(car)).date()
    try:
        recommissioning = build_recommissioning(record, today=today)
    except ValueError as fault:
        raise ValidationError({"car_id": f"Its recommissioning cannot be worked out: {fault}"}) from fault
    described = _describe_recommissioning(recommissioning, car.organisation.money)
    return described | {"car_id": car.pk, "evidence": record.evidence}


def _describe_recommissioning(recommissioning: Recommissioning, money: str) -> dict[str, Any]:
    return {
        "underway": recommissioning.underway,
        "shortest_days": recommissioning.stood.shortest_days,
        "longest_days": recommissioning.stood.days[1],
        "conditions": sorted(recommissioning.stood.conditions),
        "events": recommissioning.standing.time.events,
        "contradictions": _describe_clashes(clashes(recommissioning.standing)),
        "excluded": excluded(recommissioning.standing),
        "outlook": recommissioning.outlook,
        "stages": [_describe_stage(state) for state in recommissioning.states],
        "permissions": recommissioning.permissions.allowed,
        "open_tasks": [task.text for task in recommissioning.open_tasks],
        "estimate": _describe_cost(recommissioning, money),
    }


def _describe_cost(recommissioning: Recommissioning, money: str) -> dict[str, Any]:
    cost = recommissioning.estimate
    return {
        "currency": money,
        "hours": cost.hours,
        "parts": cost.parts,
        "money": cost.money,
        "waiting_days": cost.waiting_days,
    }


def _describe_clashes(rows: Any) -> list[dict[str, str]]:
    return [dict(zip(("first", "second", "text"), map(str, row), strict=False)) for row in rows]


def _describe_stage(state: Any) -> dict[str, Any]:
    known = choices.checks()
    return {
        "stage": state.stage,
        "title": state.title,
        "state": str(state.state),
        "waits_for": state.waits_for,
        "checks": [
            {
                "check": one.check,
                "do": known[one.check].do,
                "measure": known[one.check].measure,
                "caution": known[one.check].caution,
                "hazard": known[one.check].hazard,
                "state": str(one.state),
                "next_action": one.next_action,
            }
            for one in state.checks
        ],
    }
