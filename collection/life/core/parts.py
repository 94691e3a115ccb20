"""What a car was made of and fitted with on a day, as its record was written: battery, tank, fluids, tyres.

A car whose record nobody has opened has its rows of today for all its time, and so has one of which nothing
on its record is later than the day.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from collection.life.core.dated import Record, value_on
from collection.models import Battery, Fluid, Fuel, Tyre, Vehicle
from scheduler.vocabulary.fluids import FLUID

# What a car or a battery is made of was so from the first, whenever that was written down.
BUILT = ("fuel_system", "year", "system_volts", "assumed", "tank_litres", "tank_material", "tank_venting")
MADE = ("chemistry", "capacity_ah", "volts", "made_on", "full_sg", "installed_on", "removed_on")
FROM_FIRST = {"": BUILT, "battery": MADE}
Fields = dict[str, Any]


@dataclass(frozen=True)
class Parts:
    """A car as it was on a day; ``car`` holds its columns by name, ``last`` the last times of its record."""

    car: Mapping[str, Any]
    battery: Battery | None
    fuel: Fuel | None
    fluids: list[Fluid]
    tyres: list[Tyre]
    last: Mapping[str, date]


def parts_on(vehicle: Vehicle, record: Record, day: date) -> Parts:
    """The parts of a car on a day, as far as its record knows."""
    return _of_record(record, day) if record.goes_beyond(day) else _of_rows(vehicle, day)


def _of_rows(vehicle: Vehicle, day: date) -> Parts:
    return Parts(
        {name: getattr(vehicle, name) for name in BUILT},
        fitted_on(vehicle.batteries.all(), day),
        getattr(vehicle, "fuel", None),
        list(vehicle.fluids.all()),
        list(vehicle.tyres.all()),
        {use.event: use.on for use in vehicle.last_uses.all()},
    )


def _of_record(record: Record, day: date) -> Parts:
    by_part: dict[str, dict[str, Fields]] = defaultdict(lambda: defaultdict(dict))
    for (part, which, column), line in record.parts.items():
        value = value_on(line, day, from_first=column in FROM_FIRST.get(part, ()))
        if value is not None:
            by_part[part][which][column] = value
    return Parts(
        {name: by_part[""][""].get(name) for name in BUILT},
        fitted_on([Battery(pk=key, **fields) for key, fields in by_part["battery"].items()], day),
        Fuel(**by_part["fuel"][""]) if "fuel" in by_part else None,
        [Fluid(kind=kind, **fields) for kind, fields in by_part["fluid"].items() if kind in FLUID],
        [Tyre(position=position, **fields) for position, fields in by_part["tyre"].items()],
        {event: fields["on"] for event, fields in by_part["last"].items() if "on" in fields},
    )


def fitted_on(batteries: Iterable[Battery], day: date) -> Battery | None:
    """The battery that was in the car on a day, as far as its dates say."""
    fitted = [
        battery
        for battery in batteries
        if not (battery.installed_on and battery.installed_on > day)
        and not (battery.removed_on and battery.removed_on <= day)
    ]
    return max(fitted, key=lambda battery: battery.installed_on or date.min, default=None)
