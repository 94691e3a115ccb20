"""What is due, the week, the weeks ahead, the yard, the places: as tables."""

from collections.abc import Iterable, Iterator
from datetime import date, timedelta
from typing import Any

from collection.due.queries.floor_plan import FloorPlan, Standing
from collection.life.duties import DutyLine
from collection.models import Site
from collection.round.queries.plans import WeekLoad
from collection.round.queries.weeks import WeekSheet
from collection.spreadsheets.sheets.cells import Row
from collection.spreadsheets.sheets.writing import Table

WHICH = ("Car", "Registration", "Owner", "Bay", "Building", "Site")
WHEN = ("Work", "State", "Early", "Due", "Late", "By", "Held because", "From an assumption")


def _which(car: Any) -> Row:
    bay = car.bay
    where = (bay.label, bay.building.name, bay.building.site.name) if bay else (None, None, None)
    return [str(car), car.registration, car.owner.name, *where]


def _when(line: DutyLine) -> Row:
    return [line.title, line.state, line.early, line.due, line.late, line.limit, line.hold, line.assumed]


def due_table(lines: Iterable[DutyLine]) -> Table:
    """A row to a duty, most urgent first."""
    return Table("Due", [*WHICH, *WHEN], ([*_which(line.vehicle), *_when(line)] for line in lines))


def week_table(sheet: WeekSheet) -> Table:
    """A row to a task of the round, in walking order; where a plan has it, its day and its person."""
    names = ["Planned for", "Person", *WHICH, *WHEN, "May wait", "Not done because"]
    return Table(f"Week of {sheet.week.monday}", names, _tasks(sheet))


def _tasks(sheet: WeekSheet) -> Iterator[Row]:
    for stop in sheet.stops:
        for task in stop.tasks:
            placed, tried = task.placed, task.not_done
            yield [
                placed.day if placed else None,
                str(placed.person) if placed and placed.person else None,
                *_which(stop.vehicle),
                *_when(task.line),
                task.optional,
                tried.details.get("reason") if tried else None,
            ]


def loads_table(loads: Iterable[WeekLoad]) -> Table:
    """Twelve weeks' work against hours."""
    rows: Iterable[Row] = (
        [
            load.week.monday,
            load.week.monday + timedelta(days=6),
            load.planned,
            load.minutes,
            load.tasks,
            load.late,
        ]
        for load in loads
    )
    return Table("Coming weeks", ["From", "To", "Work, min", "Hours to give, min", "Tasks", "Late"], rows)


def floor_plan_table(site: Site, floor_plan: FloorPlan) -> Table:
    """A row to a bay, then the cars that are in none."""
    names = [
        "Site",
        "Building",
        "Row",
        "Place",
        "Car",
        "Registration",
        "Owner",
        "State",
        "Next",
        "Due",
        "Tags",
        "In its way",
        "Behind it",
    ]
    return Table("Floor plan", names, _bays(site, floor_plan))


def _bays(site: Site, floor_plan: FloorPlan) -> Iterator[Row]:
    for house in floor_plan.houses:
        for row in house.rows:
            for place in row.places:
                spot: Row = [site.name, house.building.name, row.name, place.bay.place if row.name else None]
                yield [*spot, *_standing(place.standing)]
    for standing in floor_plan.in_no_bay:
        yield [site.name, None, None, None, *_standing(standing)]


def _standing(it: Standing | None) -> Row:
    if it is None:
        return [None] * 9
    line, car = it.line, it.vehicle
    due: date | None = line.due if line else None
    tags = "; ".join(str(tag.details.get("where", "")) for tag in it.tags)
    near = ("; ".join(map(str, it.in_front)), "; ".join(map(str, it.behind)))
    return [
        str(car),
        car.registration,
        car.owner.name,
        it.state,
        line.title if line else None,
        due,
        tags,
        *near,
    ]


def places_table(sites: Iterable[Any]) -> Table:
    """A row to a bay, and one to a building without bays."""
    names = [
        "Site",
        "Time zone",
        "Climate",
        "Building",
        "Shelter",
        "Walking order",
        "Heated to, °C",
        "Humidity kept below, %",
        "Row",
        "Place",
        "Power outlet",
        "Exhaust extraction",
        "Blocked by",
        "Car",
    ]
    return Table("Places", names, _places(sites))


def _places(sites: Iterable[Any]) -> Iterator[Row]:
    for site in sites:
        for house in site.buildings.all():
            spot: Row = [
                site.name,
                site.time_zone,
                site.climate.name,
                house.name,
                house.get_shelter_display(),
                house.walk_order,
                house.heated_to_c,
                house.humidity_ceiling_pct,
            ]
            bays = list(house.bays.all())
            for bay in bays:
                blocked = "; ".join(other.label for other in bay.blocked_by.all())
                cars = "; ".join(map(str, bay.standing))
                yield [*spot, bay.row, bay.place, bay.power_outlet, bay.exhaust_extraction, blocked, cars]
            if not bays:
                yield [*spot, *[None] * 6]
