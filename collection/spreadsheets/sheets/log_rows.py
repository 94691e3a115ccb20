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
from collection.spreadsheets.sheets.dictionaries import normal
from collection.spreadsheets.sheets.log_fields import FROM
from collection.spreadsheets.sheets.whole_readings import readings_from
from collection.spreadsheets.sheets.work_words import Understood, Work, phrases, understood
from scheduler.vocabulary.care import KIND
from scheduler.vocabulary.details import Flag, Number
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


def works_of(text: str) -> Understood:
    """The kinds of work that words mean, with what they say beyond them; none where nobody could tell."""
    known = phrases().get(normal(text))
    if known is not None:
        return Understood([Work(known[0], dict(known[1]))])
    result = understood(text)
    if result.works:
        return result
    close = get_close_matches(normal(text), list(phrases()), n=1, cutoff=0.84)
    if close:
        kind, says = phrases()[close[0]]
        return Understood([Work(kind, dict(says))])
    return Understood()


def describe_works(named: Understood) -> str:
    """The kinds of work in words, with the figures that stood beside them."""
    return ", ".join(_described(work) for work in named.works)


def _described(work: Work) -> str:
    words = [str(CareKind(work.kind).label).lower()]
    for key, value in work.details.items():
        rule = DETAILS[work.kind].get(key)
        if isinstance(rule, Number):
            words.append(f"{rule.label.lower()} {value:.4g} {rule.unit}".strip())
        elif value is not False and rule is not None:
            words.append(rule.label.lower() if value is True else str(value).replace("_", " "))
    words += [f"{value:.4g} {QUANTITY[quantity].unit}" for quantity, value in work.readings.items()]
    return " · ".join(words)


def told_by(values: Mapping[str, Any]) -> list[Told]:
    """The entries of a row. A kind that cannot be told is the caller's to refuse."""
    details = {key[2:]: value for key, value in values.items() if key.startswith("d.")}
    text = str(values.get("kind") or "")
    named = works_of(text) if text else Understood()
    along = {"temperature_c": values.get("temperature_c"), "rest_hours": values.get("rest_hours")}
    entries = [Told(work.kind, dict(work.details)) for work in named.works]
    homes = {_HOME.get(key) for key in details if not any(key in DETAILS[it.kind] for it in entries)}
    for key, value in details.items():
        home = _HOME.get(key, "")  # goes before, where the row tells of it anyway
        kind = home if home in homes else next((it.kind for it in entries if key in DETAILS[it.kind]), home)
        if key == FROM and entries:
            kind = entries[0].kind
        if not any(it.kind == kind for it in entries) and key in TICKS and value is False:
            continue
        _of(entries, kind).details[key] = value
    spoken = [
        Measured(quantity, value, "", **along)
        for work in named.works
        for quantity, value in work.readings.items()
        if f"r.{quantity}" not in values
    ]
    for reading in (*_readings(values), *spoken):
        kind = next((it.kind for it in entries if reading.quantity in MAY_HOLD.get(it.kind, ())), "")
        _of(entries, kind or QUANTITY[reading.quantity].home).readings.append(reading)
    note = "\n".join(filter(None, (str(values.get("note") or ""), text if named.left else "")))
    result = entries or ([Told(CareKind.NOTE)] if note else [])
    for entry in result:
        entry.details = dict(KIND[entry.kind].silent if entry.kind in KIND else {}) | entry.details
        _complete(entry)
    if result:
        result[0].note = note
    return result


def _of(entries: list[Told], kind: str) -> Told:
    """The entry of this kind; a new one where there is none."""
    for entry in entries:
        if entry.kind == kind:
            return entry
    entries.append(Told(kind))
    return entries[-1]


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
