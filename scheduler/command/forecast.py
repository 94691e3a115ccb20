"""Cars as dated facts in, what the core makes of them out: the library's one function."""

from datetime import date
from typing import Any

from scheduler.command.answers import CarSaid
from scheduler.command.cars import Car
from scheduler.command.duties import assumed_of, duties_of
from scheduler.command.faults import Faults, cars_of
from scheduler.command.fleet import fleet_of
from scheduler.command.past import past_of
from scheduler.command.record import record_of
from scheduler.command.systems import Looked, systems_of
from scheduler.duties.policy import Policy
from scheduler.duties.table import BY_NAME
from scheduler.duties.table import forecast as windows_of
from scheduler.duties.windows import Explanation

FIRST_YEAR, LAST_YEAR = 1920, 2190  # around them four decades back and eight years ahead are still worked out


def forecast(cars: object, *, on: date) -> list[dict[str, Any]]:
    """What becomes of cars by a day: one car or a list as the command reads them, a dict a car back.

    Days may be given as dates or as ISO text, and come back as dates; the shapes are those of ``--schema``.
    Facts after ``on`` are not known yet. Raises ValueError whose ``messages`` name car, fact and field.

    >>> from datetime import date
    >>> car = {"id": "A", "facts": [{"on": "2026-10-01", "kind": "stored"}]}
    >>> [answer] = forecast(car, on=date(2026, 12, 1))
    >>> answer["id"], answer["systems"]["battery"]["verdict"]
    ('A', 'unknown')
    """
    return [car.model_dump() for car in say(cars_of(cars, checked_day(on)), on)]


def checked_day(on: date) -> date:
    """The day itself; Faults where it lies too far off to be worked out."""
    if not FIRST_YEAR <= on.year <= LAST_YEAR:
        raise Faults([f"on: must be from {FIRST_YEAR} to {LAST_YEAR}"])
    return on


def say(cars: list[Car], on: date) -> list[CarSaid]:
    """The answer for each car, in their order."""
    if not cars:
        return []
    looked = look(cars, on)
    return [
        CarSaid(
            id=car.id,
            on=on,
            assumed=assumed_of(looked.records[row]),
            systems=systems,
            duties=duties_of(looked, row, systems.battery.verdict),
            past=past_of(car, on, looked.policy),
        )
        for row, (car, systems) in enumerate(zip(cars, systems_of(looked), strict=True))
    ]


def look(cars: list[Car], on: date) -> Looked:
    """The cars as a fleet with the windows of all their duties."""
    records, policy = [record_of(car, on) for car in cars], Policy()
    fleet = fleet_of(records, on)
    return Looked(records, fleet, windows_of(fleet, float(on.toordinal()), policy), on, policy)


def explain(car: Car, duty: str, on: date) -> Explanation:
    """Why one duty of a car falls due when it does."""
    fleet = fleet_of([record_of(car, on)], on)
    return BY_NAME[duty].explain(fleet, float(on.toordinal()), Policy())
