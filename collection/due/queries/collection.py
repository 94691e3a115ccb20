"""The collection a page at a time: each car with a cell for each of its parts, in the order asked for."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import Q, QuerySet

from collection.care.queries.care import open_tags
from collection.due.cells import DUTIES_OF, NOW, PRESSING, Cell, cells_of, falls_in
from collection.due.queries.cars_due import Wanted, duties_in_order, most_pressing
from collection.life.duties import HARMS, DutyLine, lines
from collection.models import DutyRow, Entry, Vehicle
from collection.permissions import Access

BY_COLUMN = {
    "name": ("marque", "model", "year", "pk"),
    "place": ("bay__building__site__name", "bay__building__walk_order", "bay__row", "bay__place", "pk"),
}
SEARCHED = (
    "marque",
    "model",
    "year",
    "registration",
    "chassis_number",
    "owner__name",
    "bay__building__name",
    "bay__building__site__name",
)
PRESSING_RANK = HARMS * len(PRESSING) - 1


@dataclass(frozen=True, kw_only=True)
class Shown:
    """Which cars are asked for, and in which order; ``column`` empty: what presses most stands first."""

    text: str = ""
    site: int | None = None
    owner: int | None = None
    pressing: bool = False
    column: str = ""
    last_first: bool = False


@dataclass(frozen=True)
class CarShown:
    """One car: its cells, what presses most, and the warning tags that hang on it."""

    vehicle: Vehicle
    cells: list[Cell]
    first: DutyLine | None
    tags: list[Entry]

    @property
    def pressing(self) -> list[Cell]:
        """The parts that want somebody now."""
        return [cell for cell in self.cells if cell.presses]


@dataclass(frozen=True)
class ActNow:
    """The duties that may not wait: the first few, and how many there are."""

    lines: list[DutyLine]
    count: int

    @property
    def more(self) -> int:
        """How many are not among the first."""
        return self.count - len(self.lines)


def act_now(access: Access, today: date, most: int) -> ActNow:
    """What may not wait at all cars in reach, the worst first."""
    rows = duties_in_order(access, Wanted(), today, state=NOW[0])
    first = rows.select_related("vehicle__bay__building")[:most]
    return ActNow(lines(first, today), rows.count())


def cars_shown(access: Access, shown: Shown) -> QuerySet[Vehicle]:
    """The cars asked for, in no order; sums must be fresh."""
    cars = access.vehicles().filter(left_on__isnull=True)
    wanted = {"bay__building__site": shown.site, "owner": shown.owner}
    cars = cars.filter(**{name: value for name, value in wanted.items() if value})
    if shown.pressing:
        cars = cars.filter(summary__rank__lte=PRESSING_RANK)
    for word in shown.text.split():
        cars = cars.filter(_matches(word))
    return cars


def in_order(cars: QuerySet[Vehicle], shown: Shown, today: date) -> QuerySet[Any, int]:
    """The keys of the cars in the order asked for; duties and sums must be fresh."""
    if shown.column in DUTIES_OF:
        ordered = most_pressing(cars, falls_in(shown.column), today)
    else:
        by = BY_COLUMN.get(shown.column, ("summary__rank", "summary__due", "summary__duty", "pk"))
        ordered = cars.order_by(*by).values_list("pk", flat=True)
    return ordered.reverse() if shown.last_first else ordered


def _matches(word: str) -> Q:
    """A word in the car's names and numbers, its owner or its place, or the label of its bay."""
    matches = Q()
    for name in SEARCHED:
        matches |= Q(**{f"{name}__icontains": word})
    row, place = word.rstrip("0123456789"), word[len(word.rstrip("0123456789")) :]
    if row and place and len(place) < 6:
        matches |= Q(bay__row__iexact=row, bay__place=int(place))
    return matches


def with_cells(access: Access, pks: Sequence[int], today: date) -> list[CarShown]:
    """These cars with their cells, in the order of their keys as given: four queries however many."""
    cars = access.vehicles().filter(pk__in=pks)
    known = cars.select_related("owner", "bay__building__site", "photograph").in_bulk()
    by_car: dict[int, list[DutyRow]] = defaultdict(list)
    for row in DutyRow.objects.filter(vehicle__in=known):
        row.vehicle = known[row.vehicle_id]
        by_car[row.vehicle_id].append(row)
    tags: dict[int, list[Entry]] = defaultdict(list)
    for tag in open_tags(known.values()):
        tags[tag.vehicle_id].append(tag)
    return [_shown(known[pk], lines(by_car[pk], today), tags[pk]) for pk in pks if pk in known]


def _shown(vehicle: Vehicle, duties: list[DutyLine], tags: list[Entry]) -> CarShown:
    return CarShown(vehicle, cells_of(duties), duties[0] if duties else None, tags)
