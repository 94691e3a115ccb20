"""The care log as events of the core: charges, fuel, readings, last times, tags.

Only effective entries come in (corrected and withdrawn ones were left out by the query), oldest
first. Nothing is computed here; a day is the site's own calendar day.
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from scheduler.duties.conditions import FLUIDS, FUEL_EVENTS, READING_KINDS, TAGS, UNKNOWN
from scheduler.physics.fuel.cold_flow import SUMMER_CFPP_C, WINTER_CFPP_C
from scheduler.vocabulary.care import KIND
from scheduler.vocabulary.positions import TYRES

NAN = float("nan")
FuelEvent = tuple[float, int, float, float, float]  # day, kind, litres, share of ethanol or FAME, CFPP in °C
PutIn = tuple[float, float, float, float, bool]  # day, hours, amps of a charger, km/h, by the engine
POSITIONS: dict[str, int] = {wheel.code: index for index, wheel in enumerate(TYRES)}
_READ, _SET = (READING_KINDS.index(quantity) for quantity in ("tyre_pressure", "tyre_pressure_set"))
OF_A_LOGGER = "file_sha256"  # the detail of an entry that a logger's file gave: nobody was at the car


@dataclass
class LogOfCar:
    """What the care log says of one car, ready for the arrays."""

    charges: list[tuple[float, float, bool]] = field(default_factory=list)  # day, until, completed
    put_in: list[PutIn] = field(default_factory=list)
    fuel: list[FuelEvent] = field(default_factory=list)
    readings: list[tuple[float, int, float, float, float, int]] = field(default_factory=list)
    last: dict[str, float] = field(default_factory=lambda: defaultdict(lambda: NAN))
    fluids: dict[str, tuple[float, dict[str, Any]]] = field(default_factory=dict)  # kind: day, details
    looks: list[tuple[float, int, bool]] = field(default_factory=list)  # day, which fluid, found good
    tags: dict[str, str] = field(default_factory=dict)  # id of the entry that hung it: which tag

    def happened(self, event: str, day: float) -> None:
        """Note the latest day of an event; entries come oldest first."""
        self.last[event] = day

    def note_tank_level(self, day: float, litres: float) -> None:
        """Note how much fuel the tank was found to hold."""
        self.fuel.append((day, FUEL_EVENTS.index("gauged"), litres, NAN, NAN))


def read(log: LogOfCar, entry: Mapping[str, Any], day: float, readings: Sequence[Mapping[str, Any]]) -> None:
    """Take one entry with its readings into the car's log."""
    kind, details = entry["kind"], entry["details"]
    row = KIND[kind]
    if row.attended and not details.get(OF_A_LOGGER):
        log.happened("attended", day)
    for event in row.events:
        if all(details.get(key) for key in event.when):
            log.happened(event.name, day)
    if row.fuel:
        log.fuel.append(_fuel(row.fuel, details, day))
    for reading in readings:
        log.readings.append(_reading(reading, day))
    if row.effect:
        _EFFECTS[row.effect](log, details, day, str(entry["id"]))


def _reading(reading: Mapping[str, Any], day: float) -> tuple[float, int, float, float, float, int]:
    position = reading["position"]
    where = POSITIONS.get(position, int(position) if position.isdecimal() else UNKNOWN)
    temperature, rest = reading["temperature_c"], reading["rest_hours"]
    return (
        day,
        READING_KINDS.index(reading["quantity"]),
        reading["value"],
        NAN if temperature is None else temperature,
        NAN if rest is None else rest,
        where,
    )


def _charge(log: LogOfCar, details: dict[str, Any], day: float, _: str) -> None:
    log.charges.append((day, day, bool(details.get("completed"))))
    if details.get("hours") and not details.get("completed"):
        amps = details.get("amps")
        log.put_in.append((day, float(details["hours"]), NAN if amps is None else float(amps), NAN, False))


def _ran(log: LogOfCar, details: dict[str, Any], day: float, _: str) -> None:
    """A drive charges the battery; an engine that idles hardly gives back what its start took."""
    if details.get("driven") and details.get("minutes"):
        hours, km = details["minutes"] / 60, details.get("distance_km")
        log.put_in.append((day, hours, NAN, NAN if km is None else km / hours, True))


def _maintainer(log: LogOfCar, details: dict[str, Any], day: float, _: str) -> None:
    running = bool(log.charges) and log.charges[-1][1] != log.charges[-1][1]  # until is NaN: still on
    if running and day < log.charges[-1][0]:
        return  # older than the maintainer that the record says is on: a former one
    if details.get("state") == "on":
        if running and day > log.charges[-1][0]:  # seen to work: whatever was between, it counts from now
            log.charges[-1] = (log.charges[-1][0], day, False)
            running = False
        if not running:
            log.charges.append((day, NAN, True))
    elif details.get("state") != "on" and running:
        log.charges[-1] = (log.charges[-1][0], day, True)


def maintainer_on(log: LogOfCar, day: float) -> None:
    """The record says that a maintainer is on since that day: the battery of its own time is on it."""
    maintainer_off(log, day)
    log.charges.append((day, NAN, True))


def maintainer_off(log: LogOfCar, day: float) -> None:
    """The record says that none is on since that day."""
    if log.charges and log.charges[-1][1] != log.charges[-1][1]:  # until is NaN: still on
        log.charges[-1] = (log.charges[-1][0], max(day, log.charges[-1][0]), True)


def _fuel(event: str, details: dict[str, Any], day: float) -> FuelEvent:
    """One event of the tank; what was emptied is drained whatever the litres."""
    litres, bio = details.get("litres"), details.get("bio_pct")
    amount = NAN if litres is None or details.get("emptied") else float(litres)
    share = NAN if bio is None else bio / 100
    return day, FUEL_EVENTS.index(event), amount, share, _plugs_c(details)


def _plugs_c(details: dict[str, Any]) -> float:
    """Where diesel that was bought blocks a filter: as its paper says, else by its class, else not known."""
    if details.get("cfpp_c") is not None:
        return float(details["cfpp_c"])
    return {"summer": SUMMER_CFPP_C.value, "winter": WINTER_CFPP_C.value}.get(
        details.get("cold_class", ""), NAN
    )


def _fluid_changed(log: LogOfCar, details: dict[str, Any], day: float, _: str) -> None:
    if details.get("fluid") in FLUIDS:
        log.fluids[details["fluid"]] = (day, details)


def _fluid_checked(log: LogOfCar, details: dict[str, Any], day: float, _: str) -> None:
    if details.get("looked_at") in FLUIDS and details.get("condition"):
        log.looks.append((day, FLUIDS.index(details["looked_at"]), details["condition"] == "good"))


def _topped_up(log: LogOfCar, details: dict[str, Any], day: float, _: str) -> None:
    """What was read that day was then set: to the placard (NaN) where nobody wrote down to what."""
    if not details.get("topped_up"):
        return
    of_day = [reading for reading in log.readings if reading[0] == day]
    written = {reading[5] for reading in of_day if reading[1] == _SET}
    log.readings += [
        (day, _SET, NAN, reading[3], NAN, reading[5])
        for reading in of_day
        if reading[1] == _READ and reading[5] not in written
    ]


def _tag_opened(log: LogOfCar, details: dict[str, Any], _day: float, entry: str) -> None:
    if details.get("tag") in TAGS:
        log.tags[entry] = details["tag"]


def _tag_closed(log: LogOfCar, details: dict[str, Any], _day: float, _: str) -> None:
    log.tags.pop(str(details.get("opened")), None)


_EFFECTS = {
    "charged": _charge,
    "maintained": _maintainer,
    "ran": _ran,
    "fluid_changed": _fluid_changed,
    "fluid_checked": _fluid_checked,
    "topped_up": _topped_up,
    "tag_on": _tag_opened,
    "tag_off": _tag_closed,
}


def ordinal(value: date | None) -> float:
    """A date as the core's day number, NaN where there is none."""
    return NAN if value is None else float(value.toordinal())
