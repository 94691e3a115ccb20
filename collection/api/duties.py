"""What is due, why, and the curve behind it."""

from datetime import date, timedelta
from enum import Enum
from typing import Any

import numpy as np
from django.core.exceptions import ValidationError
from django.http import Http404
from ninja import Field, Router, Schema

from collection.api.door import ApiRequest, operation
from collection.api.shapes import Id, Known, Limit, Offset, Page, page
from collection.due.core.curves import curves
from collection.due.core.reasons import explain
from collection.due.queries.cars_due import Wanted, duties_in_order
from collection.life.duties import DUTY_TITLES, STATE_ORDER, DutyLine, line_of, lines_of
from collection.life.first_states import FIRST_STATES
from collection.life.refresh import recompute_stale
from collection.models import Vehicle
from collection.permissions import READ_CARS
from scheduler.vocabulary.duties import DUTY

router = Router(tags=["Due dates"])
DutyName = Enum("DutyName", {name: name for name in DUTY_TITLES}, type=str)  # type: ignore[misc]
StateName = Enum("StateName", {name: name for name in FIRST_STATES}, type=str)  # type: ignore[misc]
Urgency = Enum("Urgency", {name: name for name in STATE_ORDER}, type=str)  # type: ignore[misc]
LONGEST_DAYS = 730  # of a curve either way


class Duty(Schema):
    """One duty of one car with its window; dates are null where none is in sight."""

    car_id: int
    car: str = Field(examples=["1962 Wendlow Twelve"])
    duty: str = Field(
        description="One of the names that the filter takes; of one that a keeper added “paper-” or “own-”, "
        "then its number: its title says what it is.",
        examples=["charge", "paper-00d1ab34c2f7"],
    )
    title: str = Field(examples=["Maintainer charge"])
    state: StateName = Field(description="Where today lies in the window.")
    urgency: Urgency = Field(description="How soon waiting does harm; pages show and order by it.")
    by_on: date | None = Field(description="Do it by then: the last day before harm may begin.")
    early_on: date | None = Field(description="A pessimist's date.")
    due_on: date | None = Field(description="The likely date.")
    late_on: date | None = Field(description="From here on damage begins, or it is unfit.")
    limit: Known = Field(description="What sets the date.")
    hold: Known = Field(description="What forbids it for now.")
    assumed: bool = Field(description="Whether something was assumed because the record is silent.")
    care_kind: str = Field(description="The kind of entry that answers it.", examples=["charge"])

    @staticmethod
    def resolve_car_id(obj: Any) -> int:
        """Its number."""
        return int(obj.vehicle.pk)

    @staticmethod
    def resolve_car(obj: Any) -> str:
        """Its name."""
        return str(obj.vehicle)

    @staticmethod
    def resolve_state(obj: Any) -> str:
        """By its first name."""
        return str(obj.first_state)

    @staticmethod
    def resolve_urgency(obj: Any) -> str:
        """As pages show it."""
        return str(obj.state)

    @staticmethod
    def resolve_by_on(obj: Any) -> date | None:
        """None where nothing on record bears a date."""
        day: date | None = None if obj.state == "unknown" else obj.by
        return day

    @staticmethod
    def resolve_early_on(obj: Any) -> date | None:
        """As the line has it."""
        day: date | None = obj.early
        return day

    @staticmethod
    def resolve_due_on(obj: Any) -> date | None:
        """As the line has it."""
        day: date | None = obj.due
        return day

    @staticmethod
    def resolve_late_on(obj: Any) -> date | None:
        """As the line has it."""
        day: date | None = obj.late
        return day


class Duties(Page):
    """Duties, most urgent first."""

    stale_cars: int = Field(description="Cars whose dates could not be brought up to today.")
    items: list[Duty]


class Input(Schema):
    """One input of a calculation and where it came from."""

    name: str
    value: float | date | str
    unit: str
    basis: str
    on: date | None


class Step(Schema):
    """One equation with this car's numbers put in."""

    label: str
    equation: str
    worked: str


class Source(Schema):
    """Where a number or an equation comes from."""

    text: str
    standing: str


class Why(Schema):
    """The reason for one date, in full."""

    duty: Duty | None
    summary: str
    inputs: list[Input]
    steps: list[Step]
    sources: list[Source]
    assumptions: list[str]
    learning: list[str] = Field(description="The rate assumed, the rate learned, how many readings.")


class Level(Schema):
    """A line that the curve must not cross."""

    name: str
    value: float


class Seen(Schema):
    """One level that was measured."""

    day: date
    value: float
    kind: str


class Curve(Schema):
    """One quantity day by day: low, likely, high; null where nothing is known."""

    duty: DutyName
    name: str
    unit: str
    days: list[date]
    low: list[float | None]
    likely: list[float | None]
    high: list[float | None]
    levels: list[Level]
    measured: list[Seen]


@operation(router, "GET", "/duties", scope=READ_CARS, response=Duties, summary="What is due")
def list_duties(  # noqa: PLR0913 - one parameter a filter
    request: ApiRequest,
    site_id: Id | None = None,
    owner_id: Id | None = None,
    duty: DutyName | None = None,
    state: StateName | None = None,
    urgency: Urgency | None = None,
    within_days: Offset | None = None,
    limit: Limit = 100,
    offset: Offset = 0,
) -> Any:
    """Every duty of every car in reach, most urgent first; what is old of the cars asked for is recomputed
    as it is read."""
    access, today = request.access, request.today
    wanted = Wanted(
        site=site_id,
        owner=owner_id,
        duty=duty.value if duty else "",
        likely_days=min(within_days, 36_500) if within_days is not None else None,
    )
    stale = recompute_stale(access, today, access.vehicles().filter(**wanted.of_cars))
    of_state, first = urgency.value if urgency else "", state.value if state else ""
    rows = duties_in_order(access, wanted, today, state=of_state, first=first)
    lines = page(rows, limit, offset)
    return lines | {"items": [line_of(row, today) for row in lines["items"]], "stale_cars": stale}


@operation(
    router, "GET", "/cars/{car_id}/duties", scope=READ_CARS, response=list[Duty], summary="A car's duties"
)
def list_car_duties(request: ApiRequest, car_id: Id) -> Any:
    """All of them, most urgent first; none for a car that left."""
    car = request.access.vehicle(car_id)
    return _lines(request, car)


def _lines(request: ApiRequest, car: Vehicle) -> list[DutyLine]:
    recompute_stale(request.access, request.today, request.access.only(car))
    return [] if car.left_on else lines_of(car, request.today)


@operation(
    router,
    "GET",
    "/cars/{car_id}/duties/{duty}",
    scope=READ_CARS,
    response=Why,
    summary="Why a duty is due then",
)
def read_why(request: ApiRequest, car_id: Id, duty: DutyName) -> Any:
    """Inputs, equations with the numbers put in, sources, assumptions, what readings taught."""
    car = request.access.vehicle(car_id)
    try:
        reason = explain(car, duty.value, today=request.today)
    except ValueError as fault:
        raise ValidationError({"car_id": f"Its record cannot be worked out: {fault}"}) from fault
    line = next((line for line in _lines(request, car) if line.duty == duty.value), None)
    names = ("summary", "inputs", "steps", "sources", "assumptions", "learning")
    return {name: getattr(reason, name) for name in names} | {"duty": line}


@operation(
    router,
    "GET",
    "/cars/{car_id}/duties/{duty}/curve",
    scope=READ_CARS,
    response=Curve,
    summary="The curve behind a duty",
)
def read_curve(
    request: ApiRequest, car_id: Id, duty: DutyName, back_days: Offset = 120, ahead_days: Offset = 365
) -> Any:
    """Charge, fuel, stabiliser, coolant, tyre pressure have one; else 404. Two years at most either way."""
    car, today = request.access.vehicle(car_id), request.today
    if not DUTY[duty.value].curve:
        raise Http404
    first, last = (
        today - timedelta(days=min(back_days, LONGEST_DAYS)),
        today + timedelta(days=min(ahead_days, LONGEST_DAYS)),
    )
    try:
        (drawn,) = curves(car, [duty.value], first=first, last=last, today=today)
    except ValueError as fault:
        raise ValidationError({"car_id": f"Its record cannot be worked out: {fault}"}) from fault
    band = drawn.band
    return {
        "duty": duty,
        "name": band.name,
        "unit": band.unit,
        "days": [date.fromordinal(int(day)) for day in band.days],
        "low": _numbers(band.low),
        "likely": _numbers(band.likely),
        "high": _numbers(band.high),
        "levels": band.levels,
        "measured": drawn.measured,
    }


def _numbers(values: Any) -> list[float | None]:
    """Plain numbers; null for what the core cannot say."""
    return [float(value) if np.isfinite(value) else None for value in values]
