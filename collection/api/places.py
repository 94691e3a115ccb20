"""Sites, buildings, bays and climates."""

from typing import Annotated, Any

from django.db.models import F, Prefetch
from ninja import Field, Router, Schema

from collection.api.door import ApiRequest, operation
from collection.api.shapes import Id, Limit, Offset, Page, known_code, page
from collection.models import Shelter, Vehicle
from collection.permissions import READ_CARS, READ_RULES, WORK
from collection.places.queries.places import climates_with_months

router = Router(tags=["Places"])


class Site(Schema):
    """A place with one climate and one time zone."""

    id: int
    name: str = Field(examples=["Kaldmere"])
    time_zone: str = Field(examples=["Europe/London"])
    climate_id: int
    coldest_yard_c: float = Field(description="No work in the yard below this.")


class Sites(Page):
    """Sites by name."""

    items: list[Site]


class Building(Schema):
    """A building or a yard."""

    id: int
    site_id: int
    name: str
    shelter: Annotated[Shelter | None, known_code(Shelter)] = Field(
        description="null where what is recorded is no shelter that is known."
    )
    walk_order: int
    heated_to_c: float | None
    humidity_ceiling_pct: float | None


class Buildings(Page):
    """Buildings in walking order."""

    items: list[Building]


class Bay(Schema):
    """A place for one car."""

    id: int
    building_id: int
    label: str = Field(examples=["A3"])
    row: str
    place: int
    power_outlet: bool
    exhaust_extraction: bool
    blocked_by: list[int] = Field(description="Bays that must be empty before this one can be driven out.")
    car_id: int | None = Field(description="The car that stands there now.")

    @staticmethod
    def resolve_blocked_by(obj: Any) -> list[int]:
        """Their numbers."""
        return [bay.pk for bay in obj.blocked_by.all()]

    @staticmethod
    def resolve_car_id(obj: Any) -> int | None:
        """Whoever stands there, where this token may know."""
        return obj.standing[0].pk if obj.standing else None


class Bays(Page):
    """Bays building by building."""

    items: list[Bay]


class Month(Schema):
    """A month's usual air outside."""

    month: int
    mean_c: float
    min_c: float
    max_c: float
    humidity_pct: float


class Climate(Schema):
    """Twelve months of outside air."""

    id: int
    name: str
    basis: str
    is_own: bool = Field(description="Your own; else a type for everyone.")
    months: list[Month]

    @staticmethod
    def resolve_is_own(obj: Any) -> bool:
        """Whether it belongs to an organisation."""
        return obj.organisation_id is not None


class Climates(Page):
    """Your own climates, then the types for everyone."""

    items: list[Climate]


@operation(router, "GET", "/sites", scope=READ_CARS, response=Sites, summary="Sites")
def list_sites(request: ApiRequest, limit: Limit = 100, offset: Offset = 0) -> Any:
    """The organisation's sites; for an owner those where a car of theirs stands."""
    return page(request.access.sites().order_by("name", "pk"), limit, offset)


@operation(
    router, "GET", "/buildings", scope=READ_CARS, capability=WORK, response=Buildings, summary="Buildings"
)
def list_buildings(request: ApiRequest, limit: Limit = 100, offset: Offset = 0) -> Any:
    """Buildings and yards of every site."""
    rows = request.access.buildings().order_by("site__name", "walk_order", "name", "pk")
    return page(rows, limit, offset)


@operation(router, "GET", "/bays", scope=READ_CARS, capability=WORK, response=Bays, summary="Bays")
def list_bays(
    request: ApiRequest, building_id: Id | None = None, limit: Limit = 100, offset: Offset = 0
) -> Any:
    """Bays with what blocks them and who stands there; an empty ``row`` is a place outside its bays."""
    here = Prefetch("vehicles", Vehicle.objects.filter(left_on__isnull=True), to_attr="standing")
    rows = request.access.bays().prefetch_related(here, "blocked_by")
    if building_id:
        rows = rows.filter(building=building_id)
    return page(
        rows.order_by(F("building__site__name"), "building__walk_order", "row", "place", "pk"), limit, offset
    )


@operation(router, "GET", "/climates", scope=READ_RULES, response=Climates, summary="Climates")
def list_climates(request: ApiRequest, limit: Limit = 100, offset: Offset = 0) -> Any:
    """The air that dates are worked out with."""
    return page(climates_with_months(request.access), limit, offset)
