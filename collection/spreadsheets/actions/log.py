"""Care log entries out of a table: each checked as one typed in."""

import re
import uuid
from collections.abc import Iterable, Mapping, Sequence
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
from collection.spreadsheets.sheets.dictionaries import normal
from collection.spreadsheets.sheets.headings import plate
from collection.spreadsheets.sheets.log_fields import LOG, REFERENCES
from collection.spreadsheets.sheets.log_rows import Told, describe_works, told_by, works_of
from collection.spreadsheets.sheets.parsing import Parsed
from collection.spreadsheets.sheets.shaping import RowName
from collection.spreadsheets.sheets.values import moment_of

EVERY = 200  # rows between two signs of life
_FIELD_NAMES = {"done_at": "Done at", "kind": "Kind", "note": "Note"}


@dataclass
class Line:
    """An entry to be stored, with the row that it comes from."""

    row: RowName
    key: str  # the same whenever the table is read: its place in it, and which of the row's entries
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
    answers: dict[str, str]  # which car a name means, by its number, as somebody has said
    skip_doubles: bool
    author: str  # who brings the table in: their own name is not written down once more
    stored: Mapping[str, uuid.UUID]  # lines that are in already, by their keys
    lines: list[Line] = field(default_factory=list)
    touched: set[int] = field(default_factory=set)  # cars
    numbers: dict[int, Line] = field(default_factory=dict)  # by the table's own number of an entry
    used: set[tuple[str, int]] = field(default_factory=set)
    known: set[tuple[int, str, datetime]] = field(default_factory=set)
    seen: dict[tuple[object, ...], RowName] = field(
        default_factory=dict
    )  # what the table says: its first row

    def zone_of(self, vehicle: Vehicle) -> tzinfo:
        """The zone of the car's site, else the organisation's."""
        return ZoneInfo(vehicle.bay.building.site.time_zone) if vehicle.bay else self.zone


def check_log(rows: Iterable[Parsed], log: Log, beat: Beat) -> Findings:
    """Read and check every row; the lines of those without fault are left in ``log.lines``."""
    findings = Findings()
    log.known = said_already(log.garage.cars)
    for done, row in enumerate(rows, 1):
        findings.counts["rows"] += 1
        _take(row, log, findings)
        if done % EVERY == 0:
            beat(done)
    beat(findings.counts["rows"])
    findings.counts["cars"] = len(log.touched)
    return findings


def _take(row: Parsed, log: Log, findings: Findings) -> None:
    _tell(row, findings)
    vehicle = _car(row, log, findings)
    moment = _moment(row, vehicle, log, findings)
    words = str(row.values.get("kind") or "")
    if words and not _understood(row.number, words, findings):
        return
    try:
        entries = told_by(row.values)
    except ValueError as fault:
        findings.fault(row.number, "Readings in full", str(fault))
        return
    if not entries and not row.faults:
        findings.fault(row.number, "", "this row says nothing that was done, measured or noted")
    if row.faults or vehicle is None or moment is None:
        return
    for nth, entry in enumerate(entries):
        _check(row, nth, entry, Draft(vehicle, entry.kind, moment), log, findings)


def _tell(row: Parsed, findings: Findings) -> None:
    """What the reading of its cells found."""
    for key, text in row.faults:
        findings.fault(row.number, _label(key), text)
    for name, text in row.notes:
        findings.note(row.number, name, text)
    for key, text in row.unknown:
        findings.ask(row.number, key, text)


def _understood(row: RowName, words: str, findings: Findings) -> bool:
    """Whether the words name kinds of work; what they are taken for is shown where they are no bare name."""
    named = works_of(words)
    if not named.works:
        findings.fault(row, "Kind", f"“{shown(words)}” is no kind of work that we know: say what it is")
        findings.ask(row, "kind", words)
        return False
    if len(named.works) > 1 or named.left or named.works[0].readings or len(words.split()) > 2:
        left = f"; kept in the note: “{shown(', '.join(named.left))}”" if named.left else ""
        findings.note(row, "Kind", f"“{shown(words)}” is understood as {describe_works(named)}{left}")
    return True


def _check(row: Parsed, nth: int, entry: Told, empty: Draft, log: Log, findings: Findings) -> None:
    number = row.values.get("no") if nth == 0 else None
    key = f"{row.place}-{nth}"
    if (
        key not in log.stored
        and log.skip_doubles
        and (empty.vehicle.pk, entry.kind, empty.done_at) in log.known
    ):
        findings.counts["left_out"] += 1
        findings.note(row.number, "Kind", "is in the log already, of this car at this time: left out")
        return
    if _is_twin(row, entry, empty, log, findings):
        return
    filled = _places(entry, log)
    refers = {key: entry.details.pop(key) for key in REFERENCES if key in entry.details}
    faults = _refer(refers, entry, empty.vehicle, log)
    by = str(row.values.get("by") or "").strip()
    note = with_author(entry.note, "" if by.casefold() == log.author.casefold() else by)
    draft = Draft(_as_then(empty), entry.kind, empty.done_at, entry.details, tuple(entry.readings), note)
    try:
        if entry.kind == CareKind.WITHDRAWN or faults:
            raise ValidationError(
                faults or {"kind": ["withdrawn entries are not brought in: leave them out"]}
            )
        (check_as_written if refers else check_entry)(draft, now=log.now)
    except ValidationError as error:
        findings.refused(row.number, error, _label)
        return
    line = Line(row.number, key, log.stored.get(key) or uuid.uuid4(), draft, filled)
    if key not in log.stored:
        log.lines.append(line)
    log.touched.add(empty.vehicle.pk)
    if number is not None:
        log.numbers[int(number)] = line
    findings.counts[entry.kind] += 1
    findings.counts["entries"] += 1
    findings.sample(row.number, _spoken(line))


def _refer(refers: dict[str, int], entry: Told, vehicle: Vehicle, log: Log) -> dict[str, list[str]]:
    """Put what an entry refers to by the table's own numbers into its details; what is wrong with that."""
    faults: dict[str, list[str]] = {}
    for key, value in refers.items():
        target = log.numbers.get(value)
        if not _may_refer(target, key, value, vehicle, log):
            faults[key] = [
                f"there is no such entry no. {value} above this row, of this car: check the number"
            ]
        elif target:
            entry.details[key] = str(target.pk)
            log.used.add((key, value))
    return faults


def _is_twin(row: Parsed, entry: Told, empty: Draft, log: Log, findings: Findings) -> bool:
    """Whether another row says the same of this car at this time."""
    mark = (empty.vehicle.pk, entry.kind, empty.done_at, _content(entry))
    first = log.seen.setdefault(mark, row.number)
    if first == row.number:
        return False
    findings.counts["twins"] += 1
    findings.note(row.number, "", f"says the same as row {first}: left out")
    return True


def _content(entry: Told) -> str:
    """What an entry says, to be compared."""
    readings = sorted((it.quantity, it.position, it.value) for it in entry.readings)
    return repr((sorted(entry.details.items(), key=str), readings, entry.note))


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


def _places(entry: Told, log: Log) -> dict[str, Any]:
    """The bays of a move, where its words name one; a move that is brought in does not move the car."""
    if entry.kind != CareKind.MOVED:
        return {}
    start, to = entry.details.pop("from_bay_label", None), entry.details.get("to_bay_label")
    filled = {"from_bay": _bay(start, log), "from_bay_label": str(start or "")[:100]}
    bay = _bay(to, log)
    if bay is not None and not entry.details.get("wheels_only"):
        entry.details["to_bay"] = bay
    return filled


def _bay(text: Any, log: Log) -> int | None:
    fits: Sequence[Bay] = log.places.named(str(text)) if text else ()
    return fits[0].pk if len(fits) == 1 else None


def _car(row: Parsed, log: Log, findings: Findings) -> Vehicle | None:
    """The one car that everything in the row fits."""
    named = {key: str(row.values[key]) for key in _WAYS if row.values.get(key) not in (None, "")}
    text = " · ".join(named.values())
    if not named:
        findings.fault(row.number, "Car", "say which car: by registration, chassis number or name")
        findings.ask(row.number, "fixed:car.number", "")
        return None
    if text[:200] in log.answers:
        return log.garage.cars.get(int(log.answers[text[:200]]))
    fits = [set(_WAYS[key](log.garage, value)) for key, value in named.items()]
    known = [some for some in fits if some]
    cars = set.intersection(*known) if known else set()
    here = {pk for pk in cars if log.garage.cars[pk].left_on is None} or cars
    if len(here) == 1:
        return log.garage.cars[here.pop()]
    _ask(row.number, text, here or set().union(*known), bool(known and not cars), log, findings)
    return None


def _ask(row: RowName, text: str, fits: set[int], quarrel: bool, log: Log, findings: Findings) -> None:
    names = ", ".join(
        f"{log.garage.cars[pk]} ({log.garage.cars[pk].registration or pk})" for pk in sorted(fits)
    )
    why = (
        "fits no car here: check it, or record the car first" if not fits else f"may be any of these: {names}"
    )
    if quarrel:
        why = f"names different cars: {names}"
    findings.fault(row, "Car", f"“{shown(text)}” {why}")
    findings.ask(row, "car", text[:200], sorted(fits))


def _by_name(garage: Garage, text: str) -> list[int]:
    """By what people call it; some write the registration there."""
    return garage.by_name.get(normal(text), []) or garage.by_plate.get(plate(text), [])


_WAYS = {
    "car.registration": lambda garage, text: garage.by_plate.get(plate(text), []),
    "car.chassis_number": lambda garage, text: garage.by_chassis.get(plate(text), []),
    "car.number": lambda garage, text: [int(text)] if int(text) in garage.cars else [],
    "car.name": _by_name,
}


def _moment(row: Parsed, vehicle: Vehicle | None, log: Log, findings: Findings) -> datetime | None:
    read, clock = row.values.get("done_at"), row.values.get("clock")
    if read is None:
        if not any(key == "done_at" for key, _ in row.faults):
            findings.fault(row.number, "Done at", "say on which day it was done")
        return None
    if read.fine == "year":
        findings.fault(
            row.number, "Done at", "a year alone does not say when: give the day, or the month at least"
        )
        return None
    if read.fine != "day":
        findings.note(
            row.number, "Done at", f"only the month is given: taken as {read.day.day} {read.day:%B %Y}"
        )
    if vehicle is not None and vehicle.year and read.day.year < vehicle.year - 1:
        findings.fault(row.number, "Done at", f"{read.day.year} is before the car was made ({vehicle.year})")
        return None
    zone = log.zone_of(vehicle) if vehicle else log.zone
    try:
        return moment_of(read, clock, zone, log.now).astimezone(zone)
    except (ValueError, OverflowError):
        findings.fault(row.number, "Done at", "this is not a time that a clock can show: check it")
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
