"""Records as the arrays of the core: a row a record, NaN or -1 where it is silent."""

from collections.abc import Sequence
from datetime import date
from typing import Any

import numpy as np

from scheduler.command.air import air_around, standing_place
from scheduler.command.record import Record
from scheduler.duties import conditions as c
from scheduler.life import tables
from scheduler.life.log import NAN, ordinal
from scheduler.physics.battery.batteries import BATTERIES
from scheduler.physics.climate import Place
from scheduler.physics.fluids.fluids import POSITION
from scheduler.physics.fuel.fuels import CODES
from scheduler.physics.materials import position
from scheduler.physics.tyres.age import weeks_made
from scheduler.vocabulary.fluids import FLUID

UNSAID_REGIME = "dormant"  # nothing may be assumed of a car of which nobody says how it is kept
DRAIN = c.READING_KINDS.index("key_off_drain")


def fleet_of(records: Sequence[Record], on: date) -> c.Fleet:
    """A row for each record, in order; all in the air that reaches ``on``."""
    at: dict[int, int] = {}
    places: list[Place] = []
    rows = []
    for record in records:
        place = air_around(record, on.year)
        index = at.setdefault(id(place), len(places))
        if index == len(places):
            places.append(place)
        rows.append(_row(record, index))
    logs = [record.log for record in records]
    installed = [ordinal(record.battery.on) if record.battery else -np.inf for record in records]
    columns: dict[str, Any] = {name: np.array([row[name] for row in rows]) for name in rows[0]}
    return c.Fleet(
        **columns,
        places=tuple(places),
        readings=tables.readings(logs, installed),
        fuel_events=tables.fuel_events([log.fuel for log in logs]),
        charges=tables.charges(logs, installed),
        put_in=tables.put_in(logs, installed),
        looks=tables.looks(logs),
        rules=tables.rules([_rules(record) for record in records]),
    )


def _rules(record: Record) -> list[tables.Rule]:
    """What was decided of each duty by the day of the record."""
    decided = {
        rule.duty: rule
        for rule in sorted(record.car.rules, key=lambda rule: rule.since or date.min)
        if rule.since is None or rule.since <= record.day
    }
    return [
        tables.Rule(
            duty,
            _number(rule.interval_days),
            ordinal(rule.not_before),
            ordinal(rule.put_off_until),
            rule.not_for_this_car,
        )
        for duty, rule in decided.items()
    ]


def _code(table: Sequence[str], name: str | None) -> int:
    return table.index(name) if name in table else c.UNKNOWN


def _number(value: float | None) -> float:
    return NAN if value is None else float(value)


def _row(record: Record, place: int) -> dict[str, Any]:
    """Every column of ``scheduler.duties.conditions.Fleet`` for one car."""
    car, log = record.car, record.log
    tags = set(log.tags.values())
    events = ("road_use", "engine_run", "full_warm", "moved", "attended", "inspected")
    return {
        "place": place,
        "regime": c.REGIMES.index(car.regime or UNSAID_REGIME),
        "fuel_system": _code(c.FUEL_SYSTEMS, car.fuel_system),
        "fuel_system_assumed": False,
        "model_year": NAN if car.built_on is None else float(car.built_on.year),
        "system_volts": _number(car.system_volts),
        "system_volts_assumed": False,
        "stored_since": record.stored_since,
        "extraction": standing_place(record).extraction,
        "on_stands": record.on_stands,
        "tank_litres": _number(car.tank_litres),
        "tank_material": _code(c.TANK_MATERIALS, car.tank_material),
        "venting": _code(c.VENTINGS, car.tank_venting),
        "fuel": c.UNKNOWN if record.grade == "unknown" else CODES[record.grade],
        "tags": [tag in tags for tag in c.TAGS],
        **{f"last_{event}": log.last[event] for event in events},
        **_battery(record),
        **_fluids(record),
        **_tyres(record),
    }


def _battery(record: Record) -> dict[str, Any]:
    battery, log = record.battery, record.log
    drains = [reading[2] for reading in log.readings if reading[1] == DRAIN]
    return {
        "chemistry": position(BATTERIES, battery.chemistry) if battery else c.UNKNOWN,
        "capacity_ah": _number(battery.capacity_ah if battery else None),
        "battery_volts": _number(battery.volts if battery else None),
        "battery_made": ordinal(battery.made_on if battery else None),
        "battery_installed": ordinal(battery.on if battery else None),
        "drain_a": drains[-1] if drains else NAN,
        "isolated": bool(battery and battery.isolator),
        "on_maintainer": bool(log.charges) and bool(np.isnan(log.charges[-1][1])),
        "full_sg": _number(battery.full_gravity if battery else None),
    }


def _fluids(record: Record) -> dict[str, Any]:
    types, changed, glycol = [c.UNKNOWN] * len(c.FLUIDS), [NAN] * len(c.FLUIDS), NAN
    for fluid, (day, details) in record.log.fluids.items():
        index, share = c.FLUIDS.index(fluid), details["glycol_pct"]
        changed[index], types[index] = day, POSITION.get(details["type"], c.UNKNOWN)
        if FLUID[fluid].takes_glycol and share is not None:
            glycol = share / 100.0
    return {"fluid_type": types, "fluid_changed": changed, "coolant_share": glycol}


def _tyres(record: Record) -> dict[str, float]:
    tyres = record.tyres
    code, placards = (tyres.date_code, tyres.placard_kpa) if tyres else (None, None)
    made = max(week.first for week in weeks_made(code, tyres.on)) if tyres and code else None
    return {"tyre_made": ordinal(made), "placard_kpa": min((placards or {}).values(), default=NAN)}
