"""From records to the core's arrays: a few set-based queries, no arithmetic.

What the record leaves empty becomes NaN or -1; the core makes the assumption and names it.
"""

import hashlib
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
from scheduler import conditions as c
from scheduler.climate import Place
from scheduler.materials import batteries, fluids, fuels

from collection.bridge.choices import parse_date_code
from collection.bridge.log_events import NAN, LogOfCar, ordinal, read
from collection.bridge.places import place_for
from collection.models import Battery, Entry, Reading, Tyre, Vehicle
from collection.queries.care import effective

RELATED = ("bay__building__site__climate", "fuel")
PREFETCH = ("bay__building__site__climate__months", "batteries", "fluids", "tyres", "last_uses")


@dataclass(frozen=True)
class Gathered:
    """A fleet and the primary keys of its rows."""

    pks: list[int]
    fleet: c.Fleet

    def fingerprint(self, row: int) -> str:
        """A digest of everything that the forecast of one row depends on."""
        one = self.fleet.take([row])
        parts = [self.fleet.places[one.place[0]].name]
        for table in (one, one.readings, one.fuel_events, one.charges):
            parts += [v.tobytes().hex() for v in vars(table).values() if isinstance(v, np.ndarray)]
        return hashlib.sha256("|".join(parts).encode()).hexdigest()


def gather(pks: Sequence[int], *, today: date) -> Gathered:
    """The cars as a fleet on ``today``, in the order of their primary keys."""
    vehicles = list(
        Vehicle.objects.filter(pk__in=pks).select_related(*RELATED).prefetch_related(*PREFETCH).order_by("pk")
    )
    logs = _logs(vehicles)
    places: dict[int, int] = {}
    kept: list[Place] = []
    rows = []
    for vehicle in vehicles:
        place = _place_of(vehicle, today)
        index = places.setdefault(id(place), len(kept))
        if index == len(kept):
            kept.append(place)
        rows.append(_row(vehicle, logs[vehicle.pk], index, today))
    return Gathered([v.pk for v in vehicles], _fleet(rows, [logs[v.pk] for v in vehicles], vehicles, kept))


def _place_of(vehicle: Vehicle, today: date) -> Place:
    if vehicle.bay is not None:
        building = vehicle.bay.building
        return place_for(building.site.climate, building, today)
    site = vehicle.organisation.sites.select_related("climate").first()
    if site is None:
        raise ValueError(f"{vehicle}: add a site with its climate first")
    return place_for(site.climate, None, today)


def _logs(vehicles: Sequence[Vehicle]) -> dict[int, LogOfCar]:
    logs = {v.pk: LogOfCar() for v in vehicles}
    zones = {v.pk: ZoneInfo(v.bay.building.site.time_zone if v.bay else "UTC") for v in vehicles}
    for vehicle in vehicles:
        battery = current_battery(vehicle)
        if battery and battery.maintainer_since:
            logs[vehicle.pk].charges.append((ordinal(battery.maintainer_since), NAN, True))
    entries = effective(Entry.objects.filter(vehicle__in=logs)).order_by("done_at", "recorded_at")
    readings: dict[Any, list[dict[str, Any]]] = defaultdict(list)
    for reading in Reading.objects.filter(entry__in=entries.order_by()).values():
        readings[reading["entry_id"]].append(reading)
    for entry in entries.values("id", "vehicle_id", "kind", "done_at", "details"):
        zone = zones[entry["vehicle_id"]]
        day = float(entry["done_at"].astimezone(zone).toordinal())
        read(logs[entry["vehicle_id"]], entry, day, readings[entry["id"]])
    return logs


def current_battery(vehicle: Vehicle) -> Battery | None:
    """The battery in the car now."""
    return next((b for b in vehicle.batteries.all() if b.removed_on is None), None)


def _code(table: Iterable[Any], name: str) -> int:
    return next((i for i, row in enumerate(table) if getattr(row, "name", row) == name), c.UNKNOWN)


def _number(value: float | None, scale: float = 1.0) -> float:
    return NAN if value is None else value * scale


def _row(vehicle: Vehicle, log: LogOfCar, place: int, today: date) -> dict[str, Any]:
    tags = set(log.tags.values())
    return {
        "place": place,
        "regime": _code(c.REGIMES, vehicle.regime),
        "fuel_system": _code(c.FUEL_SYSTEMS, vehicle.fuel_system),
        "system_volts": _number(vehicle.system_volts),
        "stored_since": ordinal(vehicle.stored_since),
        "extraction": bool(vehicle.bay and vehicle.bay.exhaust_extraction),
        "on_stands": vehicle.on_stands,
        "tank_litres": _number(vehicle.tank_litres),
        "tank_material": _code(c.TANK_MATERIALS, vehicle.tank_material),
        "venting": _code(c.VENTINGS, vehicle.tank_venting),
        "tags": [tag in tags for tag in c.TAGS],
        **_last_times(vehicle, log),
        **_battery(current_battery(vehicle), log),
        **_fuel(vehicle),
        **_fluids(vehicle, log),
        **_tyres(list(vehicle.tyres.all()), today),
    }


def _last_times(vehicle: Vehicle, log: LogOfCar) -> dict[str, float]:
    recorded = {use.event: ordinal(use.on) for use in vehicle.last_uses.all()}
    events = ("road_use", "engine_run", "full_warm", "moved", "attended", "inspected")
    return {f"last_{event}": _later(recorded.get(event, NAN), log.last[event]) for event in events}


def _later(one: float, other: float) -> float:
    return float(np.fmax(one, other))


def _battery(battery: Battery | None, log: LogOfCar) -> dict[str, Any]:
    on = bool(log.charges) and np.isnan(log.charges[-1][1])
    if battery is None:
        empty = dict.fromkeys(
            ("capacity_ah", "battery_volts", "battery_made", "battery_installed", "drain_a", "full_sg"), NAN
        )
        return {**empty, "chemistry": c.UNKNOWN, "isolated": False, "on_maintainer": on}
    drains = [r[2] for r in log.readings if c.READING_KINDS[r[1]] == "key_off_drain"]
    return {
        "chemistry": _code(batteries.BATTERIES, battery.chemistry),
        "capacity_ah": _number(battery.capacity_ah),
        "battery_volts": _number(battery.volts),
        "battery_made": ordinal(battery.made_on),
        "battery_installed": ordinal(battery.installed_on),
        "drain_a": drains[-1] if drains else _number(battery.drain_ma, 1e-3),
        "isolated": battery.isolated,
        "on_maintainer": on,
        "full_sg": _number(battery.full_sg),
    }


def _fuel(vehicle: Vehicle) -> dict[str, Any]:
    fuel = getattr(vehicle, "fuel", None)
    return {"fuel": _code(fuels.FUELS, fuel.grade) if fuel else c.UNKNOWN}


def _fluids(vehicle: Vehicle, log: LogOfCar) -> dict[str, Any]:
    types, changed, glycol = [c.UNKNOWN] * len(c.FLUIDS), [NAN] * len(c.FLUIDS), NAN
    for fluid in vehicle.fluids.all():
        index = c.FLUIDS.index(fluid.kind)
        types[index], changed[index] = _code(fluids.FLUID_KINDS, fluid.type), ordinal(fluid.changed_on)
        glycol = _number(fluid.glycol_pct, 0.01) if fluid.kind == "coolant" else glycol
    for kind, (day, details) in log.fluids.items():
        index = c.FLUIDS.index(kind)
        if not day < changed[index]:  # also where the record has no date
            changed[index] = day
            types[index] = _code(fluids.FLUID_KINDS, details.get("type", ""))
            glycol = _number(details.get("glycol_pct"), 0.01) if kind == "coolant" else glycol
    return {"fluid_type": types, "fluid_changed": changed, "coolant_share": glycol}


def _tyres(tyres: Sequence[Tyre], today: date) -> dict[str, float]:
    made = [ordinal(max(parse_date_code(t.date_code, today))) for t in tyres if t.date_code]
    placards = [t.placard_kpa for t in tyres if t.placard_kpa is not None]
    return {"tyre_made": min(made, default=NAN), "placard_kpa": min(placards, default=NAN)}


def _fleet(
    rows: Sequence[dict[str, Any]], logs: Sequence[LogOfCar], vehicles: Sequence[Vehicle], places: list[Place]
) -> c.Fleet:
    columns = {name: np.array([row[name] for row in rows]) for name in rows[0]} if rows else {}
    return c.Fleet(
        **columns, places=tuple(places), readings=_readings(logs, vehicles),
        fuel_events=_fuel_events(logs, vehicles), charges=_charges(logs, vehicles),
    )  # fmt: skip


def _installed(vehicle: Vehicle) -> float:
    """The day from which the log speaks of the battery that is in the car now."""
    battery = current_battery(vehicle)
    day = ordinal(battery.installed_on) if battery else NAN
    return -np.inf if np.isnan(day) else day


_OF_THE_BATTERY = {c.READING_KINDS.index(q) for q in ("rested_volts", "specific_gravity")}


def _readings(logs: Sequence[LogOfCar], vehicles: Sequence[Vehicle]) -> c.Readings:
    table = [
        (row, *reading)
        for row, (log, vehicle) in enumerate(zip(logs, vehicles, strict=True))
        for reading in log.readings
        if reading[1] not in _OF_THE_BATTERY or reading[0] >= _installed(vehicle)
    ]
    row, day, kind, value, temperature, rest, position = _columns(table, 7)
    return c.Readings(
        row.astype(int), day, kind.astype(int), value, temperature, rest, position.astype(int)
    )


def _charges(logs: Sequence[LogOfCar], vehicles: Sequence[Vehicle]) -> c.Charges:
    table = [
        (row, *charge)
        for row, (log, vehicle) in enumerate(zip(logs, vehicles, strict=True))
        for charge in log.charges
        if charge[0] >= _installed(vehicle)
    ]
    row, day, until, completed = _columns(table, 4)
    return c.Charges(row.astype(int), day, until, completed.astype(bool))


def _fuel_events(logs: Sequence[LogOfCar], vehicles: Sequence[Vehicle]) -> c.FuelEvents:
    table = []
    for row, (log, vehicle) in enumerate(zip(logs, vehicles, strict=True)):
        found, since = _found_fuel(vehicle)
        later = [event for event in log.fuel if not event[0] < since]
        table += [(row, *event) for event in sorted(found + later, key=lambda event: event[0])]
    row, day, kind, litres, share = _columns(table, 5)
    return c.FuelEvents(row.astype(int), day, kind.astype(int), litres, share)


def _found_fuel(vehicle: Vehicle) -> tuple[list[tuple[float, int, float, float]], float]:
    """The recorded fuel state as events, and the day from which the care log carries on."""
    fuel = getattr(vehicle, "fuel", None)
    if fuel is None or fuel.filled_on is None:
        return [], NAN
    litres, share = _number(fuel.litres), _number(fuel.bio_pct, 0.01)
    events = [(ordinal(fuel.filled_on), c.FUEL_EVENTS.index("filled"), litres, share)]
    if fuel.stabilised_on:
        events.append((ordinal(fuel.stabilised_on), c.FUEL_EVENTS.index("stabilised"), NAN, NAN))
    return events, ordinal(fuel.as_of or fuel.filled_on)


def _columns(table: Sequence[tuple[float, ...]], width: int) -> list[c.Floats]:
    return list(np.array(table, float).reshape(-1, width).T)
