"""What is due gathered car by car, and the whole in one line."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, timedelta
from itertools import groupby

from collection.models import Vehicle
from collection.queries.duties import DutyLine

THIS_WEEK = timedelta(days=7)
PRESSING = ("late", "due", "soon")


@dataclass(frozen=True)
class CarDue:
    """One car: its most urgent duty, what else presses, and the rest."""

    vehicle: Vehicle
    first: DutyLine
    pressing: list[DutyLine] = field(default_factory=list)
    rest: list[DutyLine] = field(default_factory=list)

    @property
    def pressing_by_state(self) -> list[tuple[str, list[DutyLine]]]:
        """What else presses: late, then due, then soon."""
        return [(state, list(some)) for state, some in groupby(self.pressing, lambda line: line.state)]


@dataclass(frozen=True)
class Summary:
    """How many duties are late, due within seven days, and held."""

    late: int
    this_week: int
    held: int
    cars: int


def by_car(lines: Iterable[DutyLine]) -> list[CarDue]:
    """Cars in the order of their most urgent line; ``lines`` come most urgent first."""
    cars: dict[int, CarDue] = {}
    for line in lines:
        car = cars.setdefault(line.vehicle.pk, CarDue(line.vehicle, line))
        if car.first is not line:
            (car.pressing if line.state in PRESSING else car.rest).append(line)
    return list(cars.values())


def summary(lines: Iterable[DutyLine], today: date) -> Summary:
    """The count over the lines shown; what is late or held is not counted again as due."""
    lines = list(lines)
    states = Counter(line.state for line in lines)
    open_lines = (line for line in lines if line.state not in ("late", "held"))
    this_week = sum(1 for line in open_lines if line.due and line.due <= today + THIS_WEEK)
    return Summary(states["late"], this_week, states["held"], len({line.vehicle.pk for line in lines}))
