"""The care logs of a fleet as the core's event tables: readings, charges, fuel events."""

from collections.abc import Sequence

import numpy as np

from collection.life.log_events import NAN, LogOfCar, ordinal
from collection.life.rows import current_battery, number
from collection.models import Vehicle
from scheduler.duties import conditions as c


def _installed(vehicle: Vehicle) -> float:
    """The day from which the log speaks of the battery that is in the car now."""
    battery = current_battery(vehicle)
    day = ordinal(battery.installed_on) if battery else NAN
    return -np.inf if np.isnan(day) else day


_OF_THE_BATTERY = {c.READING_KINDS.index(q) for q in ("rested_volts", "specific_gravity")}


def readings(logs: Sequence[LogOfCar], vehicles: Sequence[Vehicle]) -> c.Readings:
    """Every measured value; a former battery's are left out."""
    table = [
        (row, *reading)
        for row, (log, vehicle) in enumerate(zip(logs, vehicles, strict=True))
        for reading in log.readings
        if reading[1] not in _OF_THE_BATTERY or reading[0] >= _installed(vehicle)
    ]
    row, day, kind, value, temperature, rest, position = _columns(table, 7)
    return c.Readings(row.astype(int), day, kind.astype(int), value, temperature, rest, position.astype(int))


def charges(logs: Sequence[LogOfCar], vehicles: Sequence[Vehicle]) -> c.Charges:
    """Full charges and maintainer spells of the batteries that are in the cars now."""
    table = [
        (row, *charge)
        for row, (log, vehicle) in enumerate(zip(logs, vehicles, strict=True))
        for charge in log.charges
        if charge[0] >= _installed(vehicle)
    ]
    row, day, until, completed = _columns(table, 4)
    return c.Charges(row.astype(int), day, until, completed.astype(bool))


def fuel_events(logs: Sequence[LogOfCar], vehicles: Sequence[Vehicle]) -> c.FuelEvents:
    """The fuel as found, then what the care log says came in and out, by day within a car."""
    table = []
    for index, (log, vehicle) in enumerate(zip(logs, vehicles, strict=True)):
        found, since = _found_fuel(vehicle)
        later = [event for event in log.fuel if not event[0] < since]
        table += [(index, *event) for event in sorted(found + later, key=lambda event: event[0])]
    row, day, kind, litres, share = _columns(table, 5)
    return c.FuelEvents(row.astype(int), day, kind.astype(int), litres, share)


def _found_fuel(vehicle: Vehicle) -> tuple[list[tuple[float, int, float, float]], float]:
    """The recorded fuel state as events, and the day from which the care log carries on."""
    fuel = getattr(vehicle, "fuel", None)
    if fuel is None or fuel.filled_on is None:
        return [], NAN
    litres, share = number(fuel.litres), number(fuel.bio_pct, 0.01)
    events = [(ordinal(fuel.filled_on), c.FUEL_EVENTS.index("filled"), litres, share)]
    if fuel.stabilised_on:
        events.append((ordinal(fuel.stabilised_on), c.FUEL_EVENTS.index("stabilised"), NAN, NAN))
    return events, ordinal(fuel.as_of or fuel.filled_on)


def _columns(table: Sequence[tuple[float, ...]], width: int) -> list[c.Floats]:
    return list(np.array(table, float).reshape(-1, width).T)
