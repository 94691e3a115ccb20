"""The care logs of a fleet as the core's event tables: readings, charges, fuel events."""

from collections.abc import Sequence

import numpy as np

from collection.life.core.rows import Look, number
from scheduler.duties import conditions as c
from scheduler.life import tables
from scheduler.life.log import NAN, FuelEvent, ordinal


def _installed(look: Look) -> float:
    """The day from which the log speaks of the battery that is in the car."""
    day = ordinal(look.parts.battery.installed_on) if look.parts.battery else NAN
    return -np.inf if np.isnan(day) else day


def readings(looks: Sequence[Look]) -> c.Readings:
    """Every measured value; a former battery's are left out."""
    return tables.readings([look.log for look in looks], [_installed(look) for look in looks])


def charges(looks: Sequence[Look]) -> c.Charges:
    """Full charges and maintainer spells of the batteries that are in the cars."""
    return tables.charges([look.log for look in looks], [_installed(look) for look in looks])


def looks_at_fluids(looks: Sequence[Look]) -> c.Looks:
    """What was seen when somebody looked at a fluid."""
    return tables.looks([look.log for look in looks])


def put_in(looks: Sequence[Look]) -> c.PutIn:
    """What part charges and drives put into the batteries that are in the cars."""
    return tables.put_in([look.log for look in looks], [_installed(look) for look in looks])


def rules(looks: Sequence[Look]) -> c.Rules:
    """What keepers decided of single duties, as it applied on the day of each look."""
    return tables.rules([look.rules for look in looks])


def fuel_events(looks: Sequence[Look]) -> c.FuelEvents:
    """The fuel as found, then what the care log says came in and out, by day within a car."""
    return tables.fuel_events([_of_tank(look) for look in looks])


def _of_tank(look: Look) -> list[FuelEvent]:
    recorded, since = _recorded_fuel(look)
    return recorded + [event for event in look.log.fuel if not event[0] < since]


def _recorded_fuel(look: Look) -> tuple[list[FuelEvent], float]:
    """The recorded fuel state as events, and the day from which the care log carries on."""
    fuel = look.parts.fuel
    if fuel is None or fuel.filled_on is None or (fuel.as_of or fuel.filled_on) > look.day:
        return [], NAN
    litres, share = number(fuel.litres), number(fuel.bio_pct, 0.01)
    events = [(ordinal(fuel.filled_on), c.FUEL_EVENTS.index("filled"), litres, share, NAN)]
    if fuel.stabilised_on:
        events.append((ordinal(fuel.stabilised_on), c.FUEL_EVENTS.index("stabilised"), NAN, NAN, NAN))
    return events, ordinal(fuel.as_of or fuel.filled_on)
