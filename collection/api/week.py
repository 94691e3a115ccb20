"""The week's work at a site: tasks in walking order, the plan day by day, what has no place."""

from datetime import date, timedelta
from typing import Annotated, Any
from zoneinfo import ZoneInfo

from django.shortcuts import get_object_or_404
from ninja import Field, Router, Schema

from collection.api.care import EntryTold
from collection.api.door import ApiRequest, operation
from collection.api.duties import Duty
from collection.api.shapes import Id, Whom, describe_person
from collection.life.duties import standing_at
from collection.life.refresh import recompute_stale
from collection.permissions import READ_CARS, READ_LOG, WORK
from collection.round.actions.plans import kept_plan
from collection.round.queries import plans
from collection.round.queries.weeks import week_of, week_sheet

router = Router(tags=["The week"])
FARTHEST_WEEKS = 520
Weeks = Annotated[int, Field(ge=-FARTHEST_WEEKS, le=FARTHEST_WEEKS, description="Weeks from this one on.")]


class Placed(Schema):
    """Where the plan has a task."""

    day: date
    person: Whom
    starts_min: int = Field(validation_alias="start", description="Minutes from midnight at the site.")
    takes_min: int = Field(validation_alias="minutes")
    reason: str

    @staticmethod
    def resolve_person(obj: Any, context: Any) -> dict[str, Any]:
        """The name only with its scope."""
        return describe_person(obj.person, context)


class TaskTold(Schema):
    """One duty to see to on the round."""

    duty: Duty = Field(validation_alias="line")
    optional: bool = Field(description="It may be done on the same visit, and need not.")
    placed: Placed | None


class StopTold(Schema):
    """One car on the round."""

    car_id: int = Field(validation_alias="vehicle.pk")
    car: str
    bay: str | None
    tasks: list[TaskTold]
    done: list[EntryTold] = Field(description="What was done this week; empty without the scope read:log.")
    tags: list[EntryTold] = Field(description="Tags that hang now; empty without the scope read:log.")

    @staticmethod
    def resolve_car(obj: Any) -> str:
        """Its name."""
        return str(obj.vehicle)

    @staticmethod
    def resolve_bay(obj: Any) -> str | None:
        """As painted on the floor."""
        return obj.vehicle.bay.label if obj.vehicle.bay else None

    @staticmethod
    def resolve_done(obj: Any, context: Any) -> list[Any]:
        """The log has a scope of its own."""
        return list(obj.done) if context["request"].access.holds(READ_LOG) else []

    @staticmethod
    def resolve_tags(obj: Any, context: Any) -> list[Any]:
        """Likewise."""
        return list(obj.tags) if context["request"].access.holds(READ_LOG) else []


class RoundTold(Schema):
    """A building or yard with its stops."""

    building_id: int | None = Field(description="null: cars in no bay.")
    building: str | None
    stops: list[StopTold]

    @staticmethod
    def resolve_building_id(obj: Any) -> int | None:
        """Its number."""
        return obj.building.pk if obj.building else None

    @staticmethod
    def resolve_building(obj: Any) -> str | None:
        """Its name."""
        return obj.building.name if obj.building else None


class NoPlace(Schema):
    """A task that cannot be done in time, and what would make it fit."""

    car_id: int = Field(validation_alias="row.vehicle_id")
    car: str
    duty: str = Field(validation_alias="row.duty")
    why: str = Field(validation_alias="row.why")
    would_fit: list[str] = Field(validation_alias="row.would_fit")
    late_on: date = Field(validation_alias="row.late", description="From here on it is late.")

    @staticmethod
    def resolve_car(obj: Any) -> str:
        """Its name."""
        return str(obj.row.vehicle)


class WeekTold(Schema):
    """The week at one site."""

    site_id: int
    monday: date
    planned: bool = Field(description="Whether a plan covers it; else due dates say what must be done.")
    plan_is_stale: bool
    quality: str | None = Field(description="How near the plan is to the best possible.")
    rounds: list[RoundTold]
    held: list[Duty]
    no_place: list[NoPlace]
    overdue: list[NoPlace] = Field(
        description="Late before the plan began, placed as early as there was room."
    )


def _quality(score: dict[str, Any]) -> str:
    return f"at most {100 * score.get('gap', 0):.0f} % from the best possible by its own prices"


@operation(
    router,
    "GET",
    "/sites/{site_id}/week",
    scope=READ_CARS,
    capability=WORK,
    response=WeekTold,
    summary="The week's work",
)
def read_week(request: ApiRequest, site_id: Id, weeks: Weeks = 0) -> Any:
    """Tasks in walking order with day, person and reason where a plan covers the week."""
    site = get_object_or_404(request.access.sites(), pk=site_id)
    today = request.now.astimezone(ZoneInfo(site.time_zone)).date()
    recompute_stale(request.access, today, request.access.vehicles().filter(standing_at(site)))
    week = week_of(today + timedelta(weeks=weeks))
    kept = kept_plan(site=site, today=today, now=request.now)
    plan = kept.plan if plans.covers(kept.plan, week, today) else None
    placed = plans.placed(plan, week) if plan else None
    sheet = week_sheet(request.access, site=site, week=week, today=today, placed=placed)
    planned = plans.planned_week(plan, week, today) if plan else None
    return {
        "site_id": site.pk,
        "monday": week.monday,
        "planned": plan is not None,
        "plan_is_stale": kept.is_stale,
        "quality": _quality(planned.score) if planned else None,
        "rounds": sheet.rounds,
        "held": sheet.held,
        "no_place": planned.troubles if planned else [],
        "overdue": planned.overdue if planned else [],
    }
