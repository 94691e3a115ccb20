"""A row of a care log: which kinds of work it tells of, and what each of them says.

A row may tell of several: a sheet of weekly rounds has volts and pressures side by side. Each kind becomes
an entry of its own; the note goes with the first.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from difflib import get_close_matches
from typing import Any

from collection.care.draft import Measured
from collection.care.rules import DETAILS, MAY_HOLD
from collection.models import CareKind
from collection.spreadsheets.sheets.log_fields import FROM, KIND_WORDS
from collection.spreadsheets.sheets.whole_readings import readings_from
from scheduler.vocabulary.care import KIND
from scheduler.vocabulary.details import Flag
from scheduler.vocabulary.quantities import QUANTITIES, QUANTITY

# to which kind of work a detail belongs where the row does not say the kind: the first that claims it
_HOME = {
    key: kind for kind, rules in reversed(DETAILS.items()) for key, rule in rules.items() if rule.home
} | {FROM: "moved"}
# said of every row by a tick, so that a "no" is silence and no work
TICKS = {
    key
    for rules in DETAILS.values()
    for key, rule in rules.items()
    if isinstance(rule, Flag) and rule.no_is_silence
}


@dataclass
class Told:
    """One entry to be."""

    kind: str
    details: dict[str, Any] = field(default_factory=dict)
    readings: list[Measured] = field(default_factory=list)
    note: str = ""


def kind_of(text: str) -> tuple[str, dict[str, Any]] | None:
    """The kind of work that words mean, with what they say beyond it; None where nobody could tell."""
    words = " ".join(text.casefold().replace("_", " ").split())
    for kind in CareKind:
        if words in (kind.value.replace("_", " "), kind.label.casefold()):
            return kind.value, {}
    if words in KIND_WORDS:
        kind_, details = KIND_WORDS[words]
        return kind_, dict(details)
    close = get_close_matches(words, list(KIND_WORDS), n=1, cutoff=0.84)
    if close:
        kind_, details = KIND_WORDS[close[0]]
        return kind_, dict(details)
    return None


def told_by(values: Mapping[str, Any]) -> list[Told]:
    """The entries of a row. A kind that cannot be told is the caller's to refuse."""
    details = {key[2:]: value for key, value in values.items() if key.startswith("d.")}
    note = str(values.get("note") or "")
    entries: dict[str, Told] = {}
    named = kind_of(str(values["kind"])) if values.get("kind") else None
    if named:
        kind, extra = named
        entries[kind] = Told(kind, {key: value for key, value in extra.items() if key not in details})
    for key, value in details.items():
        kind = named[0] if named and (key in DETAILS[named[0]] or key == FROM) else _HOME.get(key, "")
        if kind not in entries and key in TICKS and value is False:
            continue
        entries.setdefault(kind, Told(kind)).details[key] = value
    for reading in _readings(values):
        kind = named[0] if named and reading.quantity in MAY_HOLD.get(named[0], ()) else ""
        kind = kind or next((it for it in entries if reading.quantity in MAY_HOLD.get(it, ())), "")
        kind = kind or QUANTITY[reading.quantity].home
        entries.setdefault(kind, Told(kind)).readings.append(reading)
    result = list(entries.values()) or ([Told(CareKind.NOTE)] if note else [])
    for entry in result:
        entry.details = dict(KIND[entry.kind].silent if entry.kind in KIND else {}) | entry.details
        _complete(entry)
    if result:
        result[0].note = note
    return result


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
    measured: dict[tuple[str, str], float] = {}
    for key, value in values.items():
        if key.startswith("r.") and not key.endswith(".all"):
            _, quantity, *place = key.split(".")
            measured[quantity, place[0] if place else ""] = value
    for row in QUANTITIES:
        every = values.get(f"r.{row.code}.all")
        for position in row.everywhere if every is not None else ():
            measured.setdefault((row.code, position.code), float(every or 0))
    return [Measured(quantity, float(value), place, **along) for (quantity, place), value in measured.items()]
