"""A site's bays by row: who stands where, how each car is, who is in whose way."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from itertools import groupby

from collection.care.queries.care import open_tags
from collection.drawing.floor import in_front
from collection.life.duties import DutyLine, duties_due, standing_at
from collection.models import Bay, Building, Entry, Site, Vehicle
from collection.permissions import Access
from scheduler.vocabulary.tags import TAG


@dataclass(frozen=True)
class Standing:
    """One car in its bay: its most urgent duty, its open tags, and the cars in its way and behind it."""

    vehicle: Vehicle
    line: DutyLine | None
    tags: list[Entry]
    in_front: list[Vehicle]
    behind: list[Vehicle]

    @property
    def state(self) -> str:
        """The badge: that of the most urgent duty."""
        return self.line.state if self.line else "unknown"

    @property
    def stuck(self) -> str:
        """Why it may not be rolled; empty where it may."""
        stops = [TAG[tag.details["tag"]] for tag in self.tags if TAG[tag.details["tag"]].stops_moving]
        if stops:
            return f"warning tag: {stops[0].title}"
        return "it stands on stands, wheels off the ground" if self.vehicle.on_stands else ""


@dataclass(frozen=True)
class Place:
    """A bay, who stands in it, and the bays that must be empty before it."""

    bay: Bay
    standing: Standing | None
    fronts: tuple[int, ...]


@dataclass(frozen=True)
class Row:
    """One row of bays."""

    name: str
    places: list[Place]


@dataclass(frozen=True)
class House:
    """A building or yard with its rows."""

    building: Building
    rows: list[Row]


@dataclass(frozen=True)
class FloorPlan:
    """Everything that stands at a site, and cars that are in no bay."""

    houses: list[House]
    in_no_bay: list[Standing]

    @property
    def places(self) -> dict[int, Place]:
        """Every bay by its key, in the order of the round."""
        return {place.bay.pk: place for house in self.houses for row in house.rows for place in row.places}


def floor_plan(access: Access, *, site: Site, today: date) -> FloorPlan:
    """The plan of the site; the number of queries does not grow with the bays."""
    bays = list(
        access.bays()
        .filter(building__site=site)
        .select_related("building")
        .prefetch_related("blocked_by")
        .order_by("building__walk_order", "building__name", "building", "row", "place")
    )
    cars = list(
        access.vehicles()
        .filter(standing_at(site), left_on__isnull=True)
        .select_related("owner", "bay__building__site")
    )
    lines = duties_due(access, today=today, site=site)
    in_bay: dict[int | None, Vehicle] = {car.bay_id: car for car in cars if car.bay_id}
    made = _standing(cars, bays, in_bay, {line.vehicle.pk: line for line in reversed(lines)})
    rows = [
        Place(
            bay,
            made[in_bay[bay.pk].pk] if bay.pk in in_bay else None,
            tuple(other.pk for other in bay.blocked_by.all()),
        )
        for bay in bays
        if bay.is_marked or bay.pk in in_bay
    ]
    return FloorPlan(
        houses=[
            House(building, _rows(list(places)))
            for building, places in groupby(rows, key=lambda place: place.bay.building)
        ],
        in_no_bay=[made[car.pk] for car in cars if car.bay_id is None],
    )


def _rows(places: list[Place]) -> list[Row]:
    """Rows in their order: B before AA; places by number."""
    by_row: dict[str, list[Place]] = defaultdict(list)
    for place in places:
        by_row[place.bay.row].append(place)
    return [Row(name, by_row[name]) for name in sorted(by_row, key=lambda name: (len(name), name))]


def _standing(
    cars: list[Vehicle],
    bays: list[Bay],
    in_bay: dict[int | None, Vehicle],
    urgent: dict[int, DutyLine],
) -> dict[int, Standing]:
    front: dict[int, list[Vehicle]] = defaultdict(list)
    behind: dict[int, list[Vehicle]] = defaultdict(list)
    fronts = {bay.pk: [other.pk for other in bay.blocked_by.all()] for bay in bays}
    for bay in (bay for bay in bays if bay.pk in in_bay):
        for other in (key for key in in_front([bay.pk], fronts) if key in in_bay):
            front[in_bay[bay.pk].pk].append(in_bay[other])
            behind[in_bay[other].pk].append(in_bay[bay.pk])
    tags: dict[int, list[Entry]] = defaultdict(list)
    for tag in open_tags(cars):
        tags[tag.vehicle_id].append(tag)
    return {
        car.pk: Standing(car, urgent.get(car.pk), tags[car.pk], front[car.pk], behind[car.pk]) for car in cars
    }
