"""A row of a care log: which kinds of work it tells of, and what each of them says.

A row may tell of several: a sheet of weekly rounds has volts and pressures side by side. Each kind becomes
an entry of its own; the note goes with the first.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from difflib import get_close_matches
from typing import Any

from collection.actions.care_draft import Measured
from collection.actions.care_rules import DETAILS, MAY_HOLD
from collection.models import CareKind, Quantity
from collection.sheets.log_fields import KIND_WORDS, SILENT
from collection.sheets.whole_readings import readings_from

WHEELS = ("front_left", "front_right", "rear_left", "rear_right")
# to which kind of work a detail or a reading belongs where the row does not say the kind
_HOME = {
    "minutes": CareKind.RUN_UP,
    "driven": CareKind.RUN_UP,
    "distance_km": CareKind.RUN_UP,
    "reached_temperature": CareKind.RUN_UP,
    "hours": CareKind.CHARGE,
    "amps": CareKind.CHARGE,
    "completed": CareKind.CHARGE,
    "state": CareKind.MAINTAINER,
    "litres": CareKind.FUEL_ADDED,
    "grade": CareKind.FUEL_ADDED,
    "dose_ml": CareKind.STABILISER,
    "ratio": CareKind.STABILISER,
    "emptied": CareKind.FUEL_DRAINED,
    "fluid": CareKind.FLUID_CHANGED,
    "type": CareKind.FLUID_CHANGED,
    "glycol_pct": CareKind.FLUID_CHANGED,
    "topped_up": CareKind.TYRE_PRESSURES,
    "found": CareKind.INSPECTED,
    "ok": CareKind.INSPECTED,
    "to_bay_label": CareKind.MOVED,
    "from_bay_label": CareKind.MOVED,
    "wheels_only": CareKind.MOVED,
    "tag": CareKind.TAG_OPENED,
    "where": CareKind.TAG_OPENED,
    "opened": CareKind.TAG_CLOSED,
    "duty": CareKind.NOT_DONE,
    "reason": CareKind.NOT_DONE,
}
_READ_HOME = {
    Quantity.RESTED_VOLTS: CareKind.BATTERY_READING,
    Quantity.SPECIFIC_GRAVITY: CareKind.BATTERY_READING,
    Quantity.KEY_OFF_DRAIN: CareKind.BATTERY_READING,
    Quantity.CHARGING_VOLTS: CareKind.RUN_UP,
    Quantity.OIL_PRESSURE: CareKind.RUN_UP,
    Quantity.TYRE_PRESSURE: CareKind.TYRE_PRESSURES,
    Quantity.BRAKE_WATER: CareKind.FLUID_READING,
    Quantity.COOLANT_FREEZE_POINT: CareKind.FLUID_READING,
    Quantity.SURFACE_RH: CareKind.INSPECTED,
}
# said of every row by a tick, so that a "no" is silence and no work
TICKS = ("driven", "reached_temperature", "completed", "emptied", "topped_up", "wheels_only")


@dataclass
class Told:
    """One entry to be."""

    kind: str
    details: dict[str, Any] = field(default_factory=dict)
    readings: list[Measured] = field(default_factory=list)
    note: str = ""


def kind_of(text: str) -> tuple[str, dict[str, Any]] | None:
    """The kind of work that words mean, with what they say beyond it; None where nobody could tell."""
    said = " ".join(text.casefold().replace("_", " ").split())
    for kind in CareKind:
        if said in (kind.value.replace("_", " "), kind.label.casefold()):
            return kind.value, {}
    if said in KIND_WORDS:
        kind_, details = KIND_WORDS[said]
        return kind_, dict(details)
    close = get_close_matches(said, list(KIND_WORDS), n=1, cutoff=0.84)
    if close:
        kind_, details = KIND_WORDS[close[0]]
        return kind_, dict(details)
    return None


def told_by(values: Mapping[str, Any]) -> list[Told]:
    """The entries of a row. A kind that cannot be told is the caller's to refuse."""
    details = {key[2:]: value for key, value in values.items() if key.startswith("d.")}
    note = str(values.get("note") or "")
    entries: dict[str, Told] = {}
    said = kind_of(str(values["kind"])) if values.get("kind") else None
    if said:
        kind, extra = said
        entries[kind] = Told(kind, {key: value for key, value in extra.items() if key not in details})
    for key, value in details.items():
        kind = (
            said[0] if said and (key in DETAILS[said[0]] or key == "from_bay_label") else _HOME.get(key, "")
        )
        if kind not in entries and key in TICKS and value is False:
            continue
        entries.setdefault(kind, Told(kind)).details[key] = value
    for reading in _readings(values):
        kind = said[0] if said and reading.quantity in MAY_HOLD.get(said[0], ()) else ""
        kind = kind or next((it for it in entries if reading.quantity in MAY_HOLD.get(it, ())), "")
        kind = kind or _READ_HOME[Quantity(reading.quantity)]
        entries.setdefault(kind, Told(kind)).readings.append(reading)
    told = list(entries.values()) or ([Told(CareKind.NOTE)] if note else [])
    for entry in told:
        entry.details = SILENT.get(entry.kind, {}) | entry.details
        _complete(entry)
    if told:
        told[0].note = note
    return told


def _complete(entry: Told) -> None:
    """What follows from the rest: nothing found is nothing wrong; a note found one thing at most."""
    found = entry.details.get("found")
    if entry.kind == CareKind.INSPECTED:
        entry.details.setdefault("ok", not found)
    if entry.kind == CareKind.NOTE and isinstance(found, list):
        entry.details["found"] = "; ".join(found)


def _readings(values: Mapping[str, Any]) -> list[Measured]:
    if values.get("r.json"):
        return readings_from(str(values["r.json"]))
    along = {"temperature_c": values.get("temperature_c"), "rest_hours": values.get("rest_hours")}
    found: dict[tuple[str, str], float] = {}
    for key, value in values.items():
        if key.startswith("r.") and not key.endswith(".all"):
            _, quantity, *place = key.split(".")
            found[quantity, place[0] if place else ""] = value
    every = values.get("r.tyre_pressure.all")
    for wheel in WHEELS if every is not None else ():
        found.setdefault((Quantity.TYRE_PRESSURE.value, wheel), float(every or 0))
    return [Measured(quantity, float(value), place, **along) for (quantity, place), value in found.items()]
