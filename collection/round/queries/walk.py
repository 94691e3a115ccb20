"""The cars of a row of bays, or of a building, as somebody walks past them."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Count, Q

from collection.care.queries.care import LastValues, last_values_of, open_tags
from collection.life.duties import DutyLine, duties_due
from collection.models import UNMARKED, Building, Entry, Site, Vehicle
from collection.permissions import Access

WITHIN = timedelta(days=7)  # what falls due so soon is done on the same walk


@dataclass(frozen=True)
class Row:
    """One row of bays with cars; ``name`` is empty for cars in no marked bay of the building."""

    building: Building
    name: str
    cars: int


@dataclass(frozen=True)
class AtBay:
    """One car of the row: its tags, what was last read, and the duty that the walk answers."""

    vehicle: Vehicle
    last: LastValues
    tags: list[Entry]
    line: DutyLine | None


def rows_at(access: Access, site: Site) -> list[Row]:
    """Every row in which a car stands, in walking order."""
    cars = access.vehicles().filter(left_on__isnull=True, bay__building__site=site)
    counted = cars.values_list("bay__building", "bay__row").annotate(number=Count("pk"))
    buildings = access.buildings().filter(site=site).in_bulk()
    rows = [
        Row(buildings[pk], "" if row == UNMARKED else row, number) for pk, row, number in counted.order_by()
    ]
    return sorted(
        rows, key=lambda r: (r.building.walk_order, r.building.name, r.building.pk, len(r.name), r.name)
    )


def cars_of(access: Access, pks: Iterable[int]) -> list[Vehicle]:
    """Those of these cars that the person may see, in walking order."""
    cars = access.vehicles().filter(pk__in=list(pks))
    return sorted(cars.select_related("owner", "bay__building__site", "organisation"), key=_place)


def walked_past(access: Access, building: Building, row: str | None, duty: str, today: date) -> list[AtBay]:
    """The cars of a row, all rows where ``row`` is None, with what is known of each."""
    here = Q(bay__building=building) if row is None else Q(bay__building=building, bay__row=row or UNMARKED)
    pks = access.vehicles().filter(here, left_on__isnull=True).values_list("pk", flat=True)
    cars = cars_of(access, pks)
    asked = duties_due(access, today=today, wanted=Q(duty=duty, vehicle__in=[car.pk for car in cars]))
    lines = {line.vehicle.pk: line for line in asked}
    last = last_values_of(cars)
    tags: dict[int, list[Entry]] = {}
    for tag in open_tags(cars):
        tags.setdefault(tag.vehicle_id, []).append(tag)
    return [AtBay(car, last[car.pk], tags.get(car.pk, []), lines.get(car.pk)) for car in cars]


def is_asked(at: AtBay, today: date) -> bool:
    """Whether the duty is to be done now or soon, and nothing holds it."""
    line = at.line
    if line is None or line.state in ("on_hold", "unknown") or line.by is None:
        return False
    return line.by <= today + WITHIN or (line.early is not None and line.early <= today)


def _place(car: Vehicle) -> tuple[int, str, int, int]:
    bay = car.bay
    return (len(bay.row), bay.row, bay.place, car.pk) if bay else (0, "", 0, car.pk)
