"""One car's record as one row of the core's arrays; what is empty becomes NaN or -1."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

import numpy as np

from collection.life.core.choices import parse_date_code
from collection.life.core.parts import Parts
from collection.life.settings import Settings
from collection.models import Battery, Bay, Tyre, Vehicle
from scheduler.duties import conditions as c
from scheduler.life.log import NAN, LogOfCar, ordinal
from scheduler.life.tables import Rule
from scheduler.physics.battery import batteries
from scheduler.physics.fluids import fluids
from scheduler.physics.fuel import fuels
from scheduler.vocabulary.fluids import FLUID

DRAIN = c.READING_KINDS.index("key_off_drain")


def current_battery(vehicle: Vehicle) -> Battery | None:
    """The battery in the car now."""
    return next((b for b in vehicle.batteries.all() if b.removed_on is None), None)


def _code(table: Iterable[Any], name: str) -> int:
    return next((i for i, row in enumerate(table) if getattr(row, "name", row) == name), c.UNKNOWN)


def number(value: float | None, scale: float = 1.0) -> float:
    """A recorded number in the core's unit, NaN where there is none."""
    return NAN if value is None else value * scale


@dataclass(frozen=True)
class Look:
    """A car as it is looked at on a day: its log so far, its parts, since when it stood in which bay.

    What the record says is that of the day: how it was kept, whether on stands, in storage since when; and
    so is what is set for its organisation and site.
    """

    vehicle: Vehicle
    day: date
    log: LogOfCar
    parts: Parts
    stays: Sequence[tuple[float, Bay | None]]
    settings: Settings
    regime: str
    on_stands: bool
    stored_since: date | None
    rules: Sequence[Rule] = ()

    @property
    def bay(self) -> Bay | None:
        """Where it stands."""
        return self.stays[-1][1]

    @property
    def extraction(self) -> bool:
        """Whether exhaust is drawn off there, as it was on the day."""
        bay = self.bay
        if bay is None:
            return False
        written = self.settings.extraction_on(bay.building.site_id, bay.pk, self.day)
        return bay.exhaust_extraction if written is None else written


def row_of(look: Look, place: int, today: date) -> dict[str, Any]:
    """Every column of ``scheduler.duties.conditions.Fleet`` for one car; nothing of after its day."""
    log, parts, car = look.log, look.parts, look.parts.car
    tags, assumed = set(log.tags.values()), (car["assumed"] or "").split()
    return {
        "place": place,
        "regime": _code(c.REGIMES, look.regime),
        "fuel_system": _code(c.FUEL_SYSTEMS, car["fuel_system"]),
        "fuel_system_assumed": "fuel_system" in assumed,
        "model_year": number(car["year"]),
        "system_volts": number(car["system_volts"]),
        "system_volts_assumed": "system_volts" in assumed,
        "stored_since": _by(look.stored_since, look.day),
        "extraction": look.extraction,
        "on_stands": look.on_stands,
        "tank_litres": number(car["tank_litres"]),
        "tank_material": _code(c.TANK_MATERIALS, car["tank_material"]),
        "venting": _code(c.VENTINGS, car["tank_venting"]),
        "tags": [tag in tags for tag in c.TAGS],
        **_last_times(look),
        **_battery(parts.battery, log),
        "fuel": _code(fuels.FUELS, parts.fuel.grade) if parts.fuel else c.UNKNOWN,
        **_fluids(look),
        **_tyres(parts.tyres, today),
    }


def _by(when: date | None, day: date) -> float:
    """A date of the record as a day number, NaN where there is none by ``day``."""
    return ordinal(when) if when and when <= day else NAN


def _last_times(look: Look) -> dict[str, float]:
    recorded = {event: _by(on, look.day) for event, on in look.parts.last.items()}
    events = ("road_use", "engine_run", "full_warm", "moved", "attended", "inspected")
    return {f"last_{event}": _later(recorded.get(event, NAN), look.log.last[event]) for event in events}


def _later(one: float, other: float) -> float:
    return float(np.fmax(one, other))


def _battery(battery: Battery | None, log: LogOfCar) -> dict[str, Any]:
    on = bool(log.charges) and np.isnan(log.charges[-1][1])
    if battery is None:
        empty = dict.fromkeys(
            ("capacity_ah", "battery_volts", "battery_made", "battery_installed", "drain_a", "full_sg"), NAN
        )
        return {**empty, "chemistry": c.UNKNOWN, "isolated": False, "on_maintainer": on}
    drains = [r[2] for r in log.readings if r[1] == DRAIN]
    return {
        "chemistry": _code(batteries.BATTERIES, battery.chemistry),
        "capacity_ah": number(battery.capacity_ah),
        "battery_volts": number(battery.volts),
        "battery_made": ordinal(battery.made_on),
        "battery_installed": ordinal(battery.installed_on),
        "drain_a": drains[-1] if drains else number(battery.drain_ma, 1e-3),
        "isolated": battery.isolated,
        "on_maintainer": on,
        "full_sg": number(battery.full_sg),
    }


def _fluids(look: Look) -> dict[str, Any]:
    types, changed, glycol = [c.UNKNOWN] * len(c.FLUIDS), [NAN] * len(c.FLUIDS), NAN
    for fluid in look.parts.fluids:
        index = c.FLUIDS.index(fluid.kind)
        types[index], changed[index] = _code(fluids.FLUID_KINDS, fluid.type), _by(fluid.changed_on, look.day)
        glycol = number(fluid.glycol_pct, 0.01) if FLUID[fluid.kind].takes_glycol else glycol
    for kind, (day, details) in look.log.fluids.items():
        index = c.FLUIDS.index(kind)
        if not day < changed[index]:  # also where the record has no date
            changed[index] = day
            types[index] = _code(fluids.FLUID_KINDS, details.get("type", ""))
            glycol = number(details.get("glycol_pct"), 0.01) if FLUID[kind].takes_glycol else glycol
    return {"fluid_type": types, "fluid_changed": changed, "coolant_share": glycol}


def _tyres(tyres: Sequence[Tyre], today: date) -> dict[str, float]:
    made = [ordinal(max(parse_date_code(t.date_code, today))) for t in tyres if t.date_code]
    placards = [t.placard_kpa for t in tyres if t.placard_kpa is not None]
    return {"tyre_made": min(made, default=NAN), "placard_kpa": min(placards, default=NAN)}
