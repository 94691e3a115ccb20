"""Care log entries out of a table: each checked as one typed in."""

import re
import uuid
from collections.abc import Iterable, Sequence
from copy import copy
from dataclasses import dataclass, field
from datetime import datetime, tzinfo
from typing import Any
from zoneinfo import ZoneInfo

from django.core.exceptions import ValidationError

from collection.care.checks import check_as_written, check_entry
from collection.care.draft import Draft
from collection.care.queries.care import released
from collection.models import Bay, CareKind, Vehicle
from collection.spreadsheets.actions.findings import Beat, Findings
from collection.spreadsheets.queries import Garage, Places, said_already
from collection.spreadsheets.sheets.author import with_author
from collection.spreadsheets.sheets.cells import shown
from collection.spreadsheets.sheets.headings import normal, plate
from collection.spreadsheets.sheets.log_fields import LOG, REFERENCES
from collection.spreadsheets.sheets.log_rows import Told, kind_of, told_by
from collection.spreadsheets.sheets.parsing import Parsed
from collection.spreadsheets.sheets.values import moment_of

EVERY = 200  # rows between two signs of life
_FIELD_NAMES = {"done_at": "Done at", "kind": "Kind", "note": "Note"}


@dataclass
class Line:
    """An entry to be stored, with the row that it comes from."""

    row: int
    pk: uuid.UUID
    draft: Draft
    filled: dict[str, Any]  # what a move says that nobody types


@dataclass
class Log:
    """What the rows are read against, and what has been read so far."""

    garage: Garage
    places: Places
    zone: tzinfo
    now: datetime
    answers: dict[str, int]  # which car a name means, as somebody has said
    skip_doubles: bool
    author: str  # who brings the table in: their own name is not written down once more
    lines: list[Line] = field(default_factory=list)
    numbers: dict[int, Line] = field(default_factory=dict)  # by the table's own number of an entry
    used: set[tuple[str, int]] = field(default_factory=set)
    known: set[tuple[int, str, datetime]] = field(default_factory=set)

    def zone_of(self, vehicle: Vehicle) -> tzinfo:
        """The zone of the car's site, else the organisation's."""
        return ZoneInfo(vehicle.bay.building.site.time_zone) if vehicle.bay else self.zone


def check_log(rows: Iterable[Parsed], log: Log, beat: Beat) -> Findings:
    """Read and check every row; the lines of those without fault are left in ``log.lines``."""
    found = Findings()
    log.known = said_already(log.garage.cars)
    for done, row in enumerate(rows, 1):
        found.counts["rows"] += 1
        _take(row, log, found)
        if done % EVERY == 0:
            beat(done)
    beat(found.counts["rows"])
    found.counts["cars"] = len({line.draft.vehicle.pk for line in log.lines})
    return found


def _take(row: Parsed, log: Log, found: Findings) -> None:
    for key, text in row.faults:
        found.fault(row.number, _label(key), text)
    for name, text in row.notes:
        found.note(row.number, name, text)
    vehicle = _car(row, log, found)
    moment = _moment(row, vehicle, log, found)
    if row.values.get("kind") and kind_of(str(row.values["kind"])) is None:
        known = ", ".join(kind.label for kind in CareKind if kind != CareKind.WITHDRAWN)
        said = shown(row.values["kind"])
        found.fault(row.number, "Kind", f"“{said}” is no kind of work that we know: use one of {known}")
        return
    try:
        told = told_by(row.values)
    except ValueError as fault:
        found.fault(row.number, "Readings in full", str(fault))
        return
    if not told and not row.faults:
        found.fault(row.number, "", "this row says nothing that was done, measured or noted")
    if row.faults or vehicle is None or moment is None:
        return
    for nth, entry in enumerate(told):
        _check(row, nth, entry, Draft(vehicle, entry.kind, moment), log, found)


def _check(row: Parsed, nth: int, told: Told, empty: Draft, log: Log, found: Findings) -> None:
    number = row.values.get("no") if nth == 0 else None
    if log.skip_doubles and (empty.vehicle.pk, told.kind, empty.done_at) in log.known:
        found.counts["left_out"] += 1
        found.note(row.number, "Kind", "is in the log already, of this car at this time: left out")
        return
    filled = _places(told, log)
    refers = {key: told.details.pop(key) for key in REFERENCES if key in told.details}
    faults: dict[str, list[str]] = {}
    for key, value in refers.items():
        target = log.numbers.get(value)
        if not _may_refer(target, key, value, empty.vehicle, log):
            faults[key] = [
                f"there is no such entry no. {value} above this row, of this car: check the number"
            ]
        elif target:
            told.details[key] = str(target.pk)
            log.used.add((key, value))
    by = str(row.values.get("by") or "").strip()
    note = with_author(told.note, "" if by.casefold() == log.author.casefold() else by)
    draft = Draft(_as_then(empty), told.kind, empty.done_at, told.details, tuple(told.readings), note)
    try:
        if told.kind == CareKind.WITHDRAWN or faults:
            raise ValidationError(
                faults or {"kind": ["withdrawn entries are not brought in: leave them out"]}
            )
        (check_as_written if refers else check_entry)(draft, now=log.now)
    except ValidationError as error:
        found.refused(row.number, error, _label)
        return
    line = Line(row.number, uuid.uuid4(), draft, filled)
    log.lines.append(line)
    if number is not None:
        log.numbers[int(number)] = line
    found.counts[told.kind] += 1
    found.counts["entries"] += 1
    found.sample(row.number, _spoken(line))


def _as_then(draft: Draft) -> Vehicle:
    """The car as it was on that day: one that has left since was here, unless it was handed over."""
    car = draft.vehicle
    if not car.left_on or draft.done_at is None or draft.done_at.date() > car.left_on or released(car):
        return car
    then = copy(car)
    then.left_on = None
    return then


def _may_refer(target: Line | None, key: str, number: int, vehicle: Vehicle, log: Log) -> bool:
    if target is None or target.draft.vehicle.pk != vehicle.pk or (key, number) in log.used:
        return False
    return target.draft.kind == REFERENCES[key] and (key == "opened" or "found" in target.draft.details)


def _places(told: Told, log: Log) -> dict[str, Any]:
    """The bays of a move, where its words name one; a move that is brought in does not move the car."""
    if told.kind != CareKind.MOVED:
        return {}
    start, to = told.details.pop("from_bay_label", None), told.details.get("to_bay_label")
    filled = {"from_bay": _bay(start, log), "from_bay_label": str(start or "")[:100]}
    bay = _bay(to, log)
    if bay is not None and not told.details.get("wheels_only"):
        told.details["to_bay"] = bay
    return filled


def _bay(text: Any, log: Log) -> int | None:
    fits: Sequence[Bay] = log.places.named(str(text)) if text else ()
    return fits[0].pk if len(fits) == 1 else None


def _car(row: Parsed, log: Log, found: Findings) -> Vehicle | None:
    """The one car that everything in the row fits."""
    said = {key: str(row.values[key]) for key in _WAYS if row.values.get(key) not in (None, "")}
    text = " · ".join(said.values())
    if not said:
        found.fault(row.number, "Car", "say which car: by registration, chassis number or name")
        return None
    if text in log.answers:
        return log.garage.cars.get(log.answers[text])
    fits = [set(_WAYS[key](log.garage, value)) for key, value in said.items()]
    known = [some for some in fits if some]
    cars = set.intersection(*known) if known else set()
    here = {pk for pk in cars if log.garage.cars[pk].left_on is None} or cars
    if len(here) == 1:
        return log.garage.cars[here.pop()]
    _ask(row.number, text, here or set().union(*known), bool(known and not cars), log, found)
    return None


def _ask(row: int, text: str, fits: set[int], quarrel: bool, log: Log, found: Findings) -> None:
    names = ", ".join(
        f"{log.garage.cars[pk]} ({log.garage.cars[pk].registration or pk})" for pk in sorted(fits)
    )
    why = (
        "fits no car here: check it, or record the car first" if not fits else f"may be any of these: {names}"
    )
    if quarrel:
        why = f"names different cars: {names}"
    found.fault(row, "Car", f"“{shown(text)}” {why}")
    if len(found.cars) < 40:
        found.cars.setdefault(text[:200], sorted(fits)[:20])


def _by_name(garage: Garage, text: str) -> list[int]:
    """By what people call it; some write the registration there."""
    return garage.by_name.get(normal(text), []) or garage.by_plate.get(plate(text), [])


_WAYS = {
    "car.registration": lambda garage, text: garage.by_plate.get(plate(text), []),
    "car.chassis_number": lambda garage, text: garage.by_chassis.get(plate(text), []),
    "car.number": lambda garage, text: [int(text)] if int(text) in garage.cars else [],
    "car.name": _by_name,
}


def _moment(row: Parsed, vehicle: Vehicle | None, log: Log, found: Findings) -> datetime | None:
    read, clock = row.values.get("done_at"), row.values.get("clock")
    if read is None:
        if not any(key == "done_at" for key, _ in row.faults):
            found.fault(row.number, "Done at", "say on which day it was done")
        return None
    if read.fine == "year":
        found.fault(
            row.number, "Done at", "a year alone does not say when: give the day, or the month at least"
        )
        return None
    if read.fine != "day":
        found.note(
            row.number, "Done at", f"only the month is given: taken as {read.day.day} {read.day:%B %Y}"
        )
    zone = log.zone_of(vehicle) if vehicle else log.zone
    try:
        return moment_of(read, clock, zone, log.now).astimezone(zone)
    except (ValueError, OverflowError):
        found.fault(row.number, "Done at", "this is not a time that a clock can show: check it")
        return None


def _spoken(line: Line) -> dict[str, Any]:
    """The entry by the fields of a table, for whoever looks at the first rows."""
    draft = line.draft
    read = {
        f"r.{it.quantity}.{it.position}" if it.position else f"r.{it.quantity}": it.value
        for it in draft.readings
    }
    details = {
        f"d.{key}": value for key, value in draft.details.items() if key not in (*REFERENCES, "to_bay")
    }
    return {
        "car": str(draft.vehicle),
        "kind": draft.kind,
        "done_at": draft.done_at,
        "note": draft.note,
        **details,
        **read,
    }


def _label(key: str) -> str:
    for name in (key, f"d.{key}", f"r.{key}", re.sub(r"^(tyre_pressure|specific_gravity)_", r"r.\1.", key)):
        known = LOG.field(name)
        if known:
            return known.label
    return _FIELD_NAMES.get(key, key.replace("_", " ").capitalize())
