"""What the facts of a car say of it at the end of a day, fact by fact in their order."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from functools import singledispatch
from typing import Any

from scheduler.command import facts as f
from scheduler.command.cars import Car
from scheduler.life.log import NAN, LogOfCar, ordinal, read
from scheduler.physics.fuel.fuels import CODES, FUELS

FOR_EVER = float("-inf")
A_SLOW_CHARGER = 4.0  # amperes, where a charge is told by its ampere-hours alone


@dataclass(frozen=True)
class LogEntry:
    """One entry of the care log that a fact stands for."""

    on: date
    kind: str
    details: Mapping[str, Any]

    @property
    def changed_place(self) -> bool:
        """Whether the car stood elsewhere afterwards."""
        return self.details.get("wheels_only") is False


@dataclass
class Record:
    """The car so far. ``stays``: since when it stood where, the first for ever; none where none is named."""

    car: Car
    day: date
    log: LogOfCar = field(default_factory=LogOfCar)
    entries: list[LogEntry] = field(default_factory=list)
    stored_since: float = NAN
    left_on: date | None = None
    away: bool = False
    stays: list[tuple[float, str]] = field(default_factory=list)
    on_stands: bool = False
    battery: f.BatteryFitted | None = None
    tyres: f.TyresFitted | None = None
    grade: str = "unknown"
    is_silent: bool = True  # no fact by that day

    @property
    def place(self) -> str | None:
        """Where it stands, as far as that is named."""
        return self.stays[-1][1] if self.stays else None


def record_of(car: Car, day: date) -> Record:
    """The car by all facts up to a day, that day's own among them."""
    record = Record(car, day, grade=car.fuel or "unknown")
    for fact in car.in_order:
        if fact.on > day:
            break
        record.is_silent = False
        _take(fact, record)
    if not record.stays and len(car.places) == 1:  # it is not said, and there is no other
        record.stays.append((FOR_EVER, next(iter(car.places))))
    if record.stays:
        record.stays[0] = (FOR_EVER, record.stays[0][1])
    return record


def _log(record: Record, kind: str, fact: f.Fact, details: dict[str, Any], *readings: Any) -> None:
    """One entry of the care log, as the site would hold it."""
    record.entries.append(LogEntry(fact.on, kind, details))
    number = len(record.entries)
    read(record.log, {"id": number, "kind": kind, "details": details}, ordinal(fact.on), readings)


def _reading(
    quantity: str, value: float, position: str = "", at_c: float | None = None, rest_h: float | None = None
) -> dict[str, Any]:
    return {
        "quantity": quantity,
        "value": value,
        "position": position,
        "temperature_c": at_c,
        "rest_hours": rest_h,
    }


@singledispatch
def _take(fact: f.Fact, record: Record) -> None:
    """Let one fact change the record."""
    raise TypeError(f"{record.car.id}: nothing is known of {type(fact).__name__}")


@_take.register(f.Stabiliser)
@_take.register(f.DieselAdditive)
@_take.register(f.Inspected)
@_take.register(f.Note)
def _(fact: f.Stabiliser | f.DieselAdditive | f.Inspected | f.Note, record: Record) -> None:
    """Of these nothing counts but that it was done."""
    _log(record, fact.kind, fact, {})


@_take.register
def _(fact: f.Stored, record: Record) -> None:
    record.stored_since, record.left_on = ordinal(fact.on), None


@_take.register
def _(fact: f.Left, record: Record) -> None:
    record.left_on = fact.on


@_take.register
def _(fact: f.Away, record: Record) -> None:
    record.away = True
    _go(record, fact)


@_take.register
def _(fact: f.Back, record: Record) -> None:
    record.away = False
    _go(record, fact)
    _stand(record, fact.place, ordinal(fact.on))


def _go(record: Record, fact: f.Away | f.Back) -> None:
    record.entries.append(LogEntry(fact.on, fact.kind, {"wheels_only": False}))
    record.log.happened("moved", ordinal(fact.on))


def _stand(record: Record, place: str | None, day: float) -> None:
    if place is not None and place != record.place:
        record.stays.append((day, place))


@_take.register
def _(fact: f.BatteryFitted, record: Record) -> None:
    record.battery = fact


@_take.register
def _(fact: f.DrainMeasured, record: Record) -> None:
    amps = fact.milliamps * f.A_PER_MA
    _log(record, "battery_reading", fact, {}, _reading("key_off_drain", amps))


@_take.register
def _(fact: f.TyresFitted, record: Record) -> None:
    record.tyres = fact


@_take.register
def _(fact: f.Charge, record: Record) -> None:
    hours, amps = fact.hours, fact.amps
    if fact.ampere_hours is not None and not hours:
        hours = fact.ampere_hours / (amps or A_SLOW_CHARGER)
    if fact.ampere_hours is not None and hours:
        amps = fact.ampere_hours / hours
    _log(record, fact.kind, fact, {"completed": bool(fact.completed), "hours": hours, "amps": amps})


@_take.register
def _(fact: f.Maintainer, record: Record) -> None:
    state = "lost_power" if fact.seen_failed else "off" if fact.fitted is False else "on"
    _log(record, fact.kind, fact, {"state": state})


@_take.register
def _(fact: f.BatteryReading, record: Record) -> None:
    at_c, readings = fact.temperature_c, []
    if fact.rested_volts is not None:
        readings.append(_reading("rested_volts", fact.rested_volts, "", at_c, fact.rested_hours))
    for cell, gravity in enumerate(fact.cell_gravities or (), 1):
        readings.append(_reading("specific_gravity", gravity, f"{cell}", at_c))
    for quantity, value in f.measured(fact).items():
        readings.append(_reading(quantity, value, "", at_c))
    _log(record, fact.kind, fact, {}, *readings)


@_take.register
def _(fact: f.RunUp, record: Record) -> None:
    _log(
        record,
        fact.kind,
        fact,
        {
            "driven": fact.km > 0,
            "reached_temperature": fact.reached_temperature,
            "minutes": fact.minutes,
            "distance_km": fact.km,
        },
    )


@_take.register
def _(fact: f.FuelAdded, record: Record) -> None:
    if fact.grade != "unknown":
        record.grade = fact.grade
    if fact.tank_after_litres is not None:
        record.log.note_tank_level(ordinal(fact.on), fact.tank_after_litres - fact.litres)
    details = {"litres": fact.litres, "bio_pct": _bio_pct(fact), "cfpp_c": fact.cfpp_c}
    _log(record, fact.kind, fact, details | {"cold_class": fact.cold_class or ""})
    if fact.stabilised:
        _log(record, "stabiliser", fact, {})


def _bio_pct(fact: f.FuelAdded) -> float | None:
    """Ethanol or FAME as written down, else what its grade holds, where that is known."""
    if fact.bio_pct is not None or fact.grade == "unknown":
        return fact.bio_pct
    return FUELS[CODES[fact.grade]].bio_share.value * 100.0


@_take.register
def _(fact: f.FuelDrained, record: Record) -> None:
    _log(record, fact.kind, fact, {"litres": fact.litres, "emptied": fact.litres is None})


@_take.register
def _(fact: f.FluidChanged, record: Record) -> None:
    details = {"fluid": fact.fluid, "type": fact.type or "", "glycol_pct": fact.glycol_pct}
    _log(record, fact.kind, fact, details)


@_take.register
def _(fact: f.FluidReading, record: Record) -> None:
    readings = (_reading(quantity, value) for quantity, value in f.measured(fact).items())
    _log(record, fact.kind, fact, {}, *readings)


@_take.register
def _(fact: f.FluidChecked, record: Record) -> None:
    _log(record, fact.kind, fact, {"looked_at": fact.fluid, "condition": "good" if fact.good else "bad"})


@_take.register
def _(fact: f.TyrePressures, record: Record) -> None:
    """As found, then as left."""
    readings = [
        _reading(quantity, kpa, wheel, fact.temperature_c)
        for quantity, table in (("tyre_pressure", fact.found_kpa), ("tyre_pressure_set", fact.left_kpa))
        for wheel, kpa in (table or {}).items()
    ]
    _log(record, fact.kind, fact, {}, *readings)


@_take.register
def _(fact: f.Moved, record: Record) -> None:
    _log(record, fact.kind, fact, {"wheels_only": fact.place is None})
    _stand(record, fact.place, ordinal(fact.on))
    if fact.on_stands is not None:
        record.on_stands = fact.on_stands


@_take.register
def _(fact: f.TagOpened, record: Record) -> None:
    _log(record, fact.kind, fact, {"tag": fact.tag})


@_take.register
def _(fact: f.TagClosed, record: Record) -> None:
    opened = [entry for entry, tag in record.log.tags.items() if tag == fact.tag]
    _log(record, fact.kind, fact, {"opened": opened[-1]})
