"""A site's bays by row: who stands where, how each car is, who is in whose way."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from itertools import groupby

from collection.care.queries.care import open_tags
from collection.life.duties import DutyLine, duties_due, standing_at
from collection.models import Bay, Building, Entry, Site, Vehicle
from collection.permissions import Access


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


@dataclass(frozen=True)
class Place:
    """A bay and who stands in it."""

    bay: Bay
    standing: Standing | None


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
        Place(bay, made[in_bay[bay.pk].pk] if bay.pk in in_bay else None)
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
    for bay in bays:
        for other in bay.blocked_by.all():
            if bay.pk in in_bay and other.pk in in_bay:
                front[in_bay[bay.pk].pk].append(in_bay[other.pk])
                behind[in_bay[other.pk].pk].append(in_bay[bay.pk])
    tags: dict[int, list[Entry]] = defaultdict(list)
    for tag in open_tags(cars):
        tags[tag.vehicle_id].append(tag)
    return {
        car.pk: Standing(car, urgent.get(car.pk), tags[car.pk], front[car.pk], behind[car.pk]) for car in cars
    }
