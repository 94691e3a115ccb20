"""Cars with their record."""

from datetime import date
from typing import Annotated, Any

from django.db.models import Prefetch
from ninja import Field, Router, Schema

from collection.api.door import ApiRequest, operation
from collection.api.shapes import (
    Id,
    Known,
    Limit,
    Offset,
    Page,
    Search,
    Whom,
    describe_person,
    known_code,
    page,
)
from collection.cars.queries import cars_listed
from collection.models import (
    Basis,
    Battery,
    FluidKind,
    LastEvent,
    Regime,
    TyrePosition,
)
from collection.permissions import READ_CARS
from scheduler.vocabulary.machine import BUILD

router = Router(tags=["Cars"])
PARTS = ("battery", "fuel", "fluids", "tyres", "last")


class Standing(Schema):
    """Where a car stands."""

    bay_id: int
    bay: str = Field(examples=["A3"])
    building_id: int
    building: str = Field(examples=["Long shed"])
    site_id: int
    site: str = Field(examples=["Kaldmere"])


class CarLine(Schema):
    """A car as a list shows it."""

    id: int
    name: str = Field(examples=["1962 Wendlow Twelve"])
    marque: str = Field(description="Its make.")
    model: str
    year: int | None
    registration: Known
    regime: Annotated[Regime | None, known_code(Regime)] = Field(
        description="null where what is recorded is no regime that is known."
    )
    owner: Whom
    stands: Standing | None = Field(description="null: in no bay.")
    stored_since: date | None
    left_on: date | None
    not_recorded: list[str] = Field(
        description="Parts of its record of which nothing is known.", examples=[["tyres"]]
    )

    @staticmethod
    def resolve_name(obj: Any) -> str:
        """Year, make, model."""
        return str(obj)

    @staticmethod
    def resolve_owner(obj: Any, context: Any) -> dict[str, Any]:
        """The name only with its scope."""
        return describe_person(obj.owner, context)

    @staticmethod
    def resolve_stands(obj: Any) -> dict[str, Any] | None:
        """The bay with its building and site."""
        if obj.bay is None:
            return None
        building = obj.bay.building
        return {
            "bay_id": obj.bay.pk,
            "bay": obj.bay.label,
            "building_id": building.pk,
            "building": building.name,
            "site_id": building.site_id,
            "site": building.site.name,
        }

    @staticmethod
    def resolve_not_recorded(obj: Any) -> list[str]:
        """What ``cars_listed`` has not found."""
        return [part for part in PARTS if not getattr(obj, f"has_{part}")]


class Cars(Page):
    """Cars by make, model and year."""

    items: list[CarLine]


class BatteryRecord(Schema):
    """The battery in the car."""

    chemistry: Known
    capacity_ah: float | None
    volts: int | None
    made_on: date | None
    installed_on: date | None
    isolated: bool
    maintainer_since: date | None
    drain_ma: float | None
    full_sg: float | None = Field(description="Specific gravity when full.")


class FuelRecord(Schema):
    """The fuel as found on a day; the log carries on from there."""

    grade: Known
    bio_pct: float | None
    litres: float | None
    filled_on: date | None
    stabilised_on: date | None
    as_of: date | None


class FluidRecord(Schema):
    """One fluid."""

    kind: FluidKind
    type: Known
    changed_on: date | None
    glycol_pct: float | None


class TyreRecord(Schema):
    """One tyre."""

    position: TyrePosition
    date_code: Known
    placard_kpa: float | None


class LastRecord(Schema):
    """When something last happened before the log began, and how that is known."""

    event: LastEvent
    on: date
    basis: Basis


class Car(CarLine):
    """A car with its whole record; what nobody knows is null."""

    chassis_number: Known
    engine: Known
    fuel_system: Known
    tank_litres: float | None
    tank_material: Known
    tank_venting: Known
    system_volts: int | None
    assumed: list[str] = Field(
        description="Which of these are only what is usual for its kind of car: nobody has looked.",
        examples=[["fuel_system", "system_volts"]],
    )
    built_with: dict[str, str] = Field(
        description="What the car is built with, by part, as far as anybody knows: "
        + "; ".join(f"{part.code} ({', '.join(choice.code for choice in part.choices)})" for part in BUILD)
        + ".",
        examples=[{"earth": "positive", "generator": "dynamo"}],
    )
    on_stands: bool
    notes: Known
    battery: BatteryRecord | None
    fuel: FuelRecord | None
    fluids: list[FluidRecord]
    tyres: list[TyreRecord]
    last: list[LastRecord] = Field(validation_alias="last_uses")

    @staticmethod
    def resolve_assumed(obj: Any) -> list[str]:
        """By name."""
        return sorted(obj.assumed_fields)

    @staticmethod
    def resolve_built_with(obj: Any) -> dict[str, str]:
        """Parts that nobody knows are left out."""
        return {part.code: value for part in BUILD if (value := getattr(obj, part.code))}

    @staticmethod
    def resolve_battery(obj: Any) -> Any:
        """The one that is in it now."""
        return obj.battery_now[0] if obj.battery_now else None

    @staticmethod
    def resolve_fuel(obj: Any) -> Any:
        """None where nothing is written down."""
        return getattr(obj, "fuel", None)


@operation(router, "GET", "/cars", scope=READ_CARS, response=Cars, summary="Cars")
def list_cars(  # noqa: PLR0913 - one parameter a filter
    request: ApiRequest,
    site_id: Id | None = None,
    owner_id: Id | None = None,
    regime: Regime | None = None,
    text: Search = "",
    left: bool = False,
    limit: Limit = 100,
    offset: Offset = 0,
) -> Any:
    """Cars in storage; with ``left`` those that went as well. ``text`` is found in names and numbers."""
    rows = cars_listed(
        request.access, site=site_id, owner=owner_id, regime=regime or "", text=text, left=left
    )
    return page(rows, limit, offset)


@operation(router, "GET", "/cars/{car_id}", scope=READ_CARS, response=Car, summary="One car")
def read_car(request: ApiRequest, car_id: Id) -> Any:
    """Its whole record."""
    now = Prefetch("batteries", Battery.objects.filter(removed_on__isnull=True), to_attr="battery_now")
    rows = cars_listed(request.access, left=True).select_related("fuel")
    car = rows.prefetch_related(now, "fluids", "tyres", "last_uses").filter(pk=car_id).first()
    return car or request.access.vehicle(car_id)  # which says 404
