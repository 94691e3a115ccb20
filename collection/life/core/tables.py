"""The care logs of a fleet as the core's event tables: readings, charges, fuel events."""

from collections.abc import Sequence

import numpy as np

from collection.life.core.log_events import NAN, ordinal
from collection.life.core.rows import Look, number
from scheduler.duties import conditions as c


def _installed(look: Look) -> float:
    """The day from which the log speaks of the battery that is in the car."""
    day = ordinal(look.battery.installed_on) if look.battery else NAN
    return -np.inf if np.isnan(day) else day


_OF_THE_BATTERY = {c.READING_KINDS.index(q) for q in ("rested_volts", "specific_gravity")}


def readings(looks: Sequence[Look]) -> c.Readings:
    """Every measured value; a former battery's are left out."""
    table = [
        (row, *reading)
        for row, look in enumerate(looks)
        for reading in look.log.readings
        if reading[1] not in _OF_THE_BATTERY or reading[0] >= _installed(look)
    ]
    row, day, kind, value, temperature, rest, position = _columns(table, 7)
    return c.Readings(row.astype(int), day, kind.astype(int), value, temperature, rest, position.astype(int))


def charges(looks: Sequence[Look]) -> c.Charges:
    """Full charges and maintainer spells of the batteries that are in the cars."""
    table = [
        (row, *charge)
        for row, look in enumerate(looks)
        for charge in look.log.charges
        if charge[0] >= _installed(look)
    ]
    row, day, until, completed = _columns(table, 4)
    return c.Charges(row.astype(int), day, until, completed.astype(bool))


def fuel_events(looks: Sequence[Look]) -> c.FuelEvents:
    """The fuel as found, then what the care log says came in and out, by day within a car."""
    table = []
    for index, look in enumerate(looks):
        found, since = _found_fuel(look)
        later = [event for event in look.log.fuel if not event[0] < since]
        table += [(index, *event) for event in sorted(found + later, key=lambda event: event[0])]
    row, day, kind, litres, share = _columns(table, 5)
    return c.FuelEvents(row.astype(int), day, kind.astype(int), litres, share)


def _found_fuel(look: Look) -> tuple[list[tuple[float, int, float, float]], float]:
    """The recorded fuel state as events, and the day from which the care log carries on."""
    fuel = getattr(look.vehicle, "fuel", None)
    if fuel is None or fuel.filled_on is None or (fuel.as_of or fuel.filled_on) > look.day:
        return [], NAN
    litres, share = number(fuel.litres), number(fuel.bio_pct, 0.01)
    events = [(ordinal(fuel.filled_on), c.FUEL_EVENTS.index("filled"), litres, share)]
    if fuel.stabilised_on:
        events.append((ordinal(fuel.stabilised_on), c.FUEL_EVENTS.index("stabilised"), NAN, NAN))
    return events, ordinal(fuel.as_of or fuel.filled_on)


def _columns(table: Sequence[tuple[float, ...]], width: int) -> list[c.Floats]:
    return list(np.array(table, float).reshape(-1, width).T)
