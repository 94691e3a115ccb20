"""The logs of many cars as the tables of a fleet: readings, charges, fuel events."""

from collections.abc import Iterable, Sequence
from typing import NamedTuple

import numpy as np

from scheduler.duties.conditions import (
    READING_KINDS,
    Charges,
    Floats,
    FuelEvents,
    Looks,
    PutIn,
    Readings,
    Rules,
)
from scheduler.life.log import FuelEvent, LogOfCar
from scheduler.vocabulary.duties import DUTIES
from scheduler.vocabulary.quantities import QUANTITIES

_OF_THE_BATTERY = {  # what draws on it is the car's
    READING_KINDS.index(row.code)
    for row in QUANTITIES
    if row.home == "battery_reading" and row.code != "key_off_drain"
}


def readings(logs: Sequence[LogOfCar], installed: Sequence[float]) -> Readings:
    """Every measured value, a row a car; a former battery's, of before ``installed``, are left out."""
    table = [
        (row, *reading)
        for row, (log, since) in enumerate(zip(logs, installed, strict=True))
        for reading in log.readings
        if reading[1] not in _OF_THE_BATTERY or reading[0] >= since
    ]
    row, day, kind, value, temperature, rest, position = _columns(table, 7)
    return Readings(row.astype(int), day, kind.astype(int), value, temperature, rest, position.astype(int))


def charges(logs: Sequence[LogOfCar], installed: Sequence[float]) -> Charges:
    """Full charges and maintainer spells of the batteries that are in the cars since ``installed``."""
    table = [
        (row, *charge)
        for row, (log, since) in enumerate(zip(logs, installed, strict=True))
        for charge in log.charges
        if charge[0] >= since
    ]
    row, day, until, completed = _columns(table, 4)
    return Charges(row.astype(int), day, until, completed.astype(bool))


def put_in(logs: Sequence[LogOfCar], installed: Sequence[float]) -> PutIn:
    """What part charges and drives put into the batteries that are in the cars since ``installed``."""
    table = [
        (row, *entry)
        for row, (log, since) in enumerate(zip(logs, installed, strict=True))
        for entry in log.put_in
        if entry[0] >= since
    ]
    row, day, hours, amps, kmh, by_engine = _columns(table, 6)
    return PutIn(row.astype(int), day, hours, amps, kmh, by_engine.astype(bool))


def looks(logs: Sequence[LogOfCar]) -> Looks:
    """What was seen when somebody looked at a fluid, a row a car."""
    table = [(row, *look) for row, log in enumerate(logs) for look in log.looks]
    row, day, fluid, good = _columns(table, 4)
    return Looks(row.astype(int), day, fluid.astype(int), good.astype(bool))


def fuel_events(each: Iterable[Sequence[FuelEvent]]) -> FuelEvents:
    """What came into and out of each tank, a row a car, by day within it."""
    table = [
        (row, *event)
        for row, events in enumerate(each)
        for event in sorted(events, key=lambda event: event[0])
    ]
    row, day, kind, litres, share, cfpp_c = _columns(table, 6)
    return FuelEvents(row.astype(int), day, kind.astype(int), litres, share, cfpp_c)


class Rule(NamedTuple):
    """What was decided of one duty of one car, as in ``conditions.Rules``; NaN where nothing was."""

    duty: str
    interval_days: float
    not_before: float
    put_off_until: float
    not_for: bool


_AT = {duty.code: position for position, duty in enumerate(DUTIES)}


def rules(each: Iterable[Sequence[Rule]]) -> Rules:
    """What was decided of the duties of each car, a row a car."""
    table = [(row, _AT[rule.duty], *rule[1:]) for row, some in enumerate(each) for rule in some]
    row, duty, interval, not_before, put_off, not_for = _columns(table, 6)
    return Rules(row.astype(int), duty.astype(int), interval, not_before, put_off, not_for.astype(bool))


def _columns(table: Sequence[tuple[float, ...]], width: int) -> list[Floats]:
    return list(np.array(table, float).reshape(-1, width).T)
