"""Cells that say several things at once: “70 Ah AGM”, “32/32/30/30”, “12V6”, “SG 1265”."""

import re
from typing import Any

from collection.spreadsheets.sheets import dictionaries, numbers
from collection.spreadsheets.sheets.dictionaries import normal
from collection.spreadsheets.sheets.fields import Field, Kind
from collection.spreadsheets.sheets.mapping import Use
from collection.spreadsheets.sheets.units import unit_named
from collection.spreadsheets.sheets.values import BadCell, choice_of
from scheduler.vocabulary.positions import WHEELS

LONGEST = 80  # signs of such a cell
_CAPACITY = re.compile(r"(\d{1,3}(?:[.,]\d)?)\s*(?:a\.?h\b\.?|amp(?:ere)?s?[ .-]*h(?:ou)?rs?\b)", re.I)
_BATTERY_VOLTS = re.compile(r"\b(6|12|24)\s*v(?:olts?)?\b", re.I)
_SPLIT_VOLTS = re.compile(r"^(\d{1,2})\s*[vV]\s*(\d{1,2})$")
_WHEELS = re.compile(r"^([\d.,]+(?:\s*[/;|]\s*[\d.,]+){1,4})\s*([a-z/²2]*)\.?$", re.I)
_GRAVITY = re.compile(r"^(?:s\.?g\.?|density|dichte)?\s*[:=]?\s*(1[.,]?[01234]\d{1,2})$", re.I)
_ESTIMATE = re.compile(r"^([^\W\d_]+\.?|[~≈])\s*(\d.*)$")
_SHORT_YEAR = re.compile(r"^['’](\d\d)$")
LAST_SHORT_YEAR = 40  # policy: of the years that people shorten so, these can be of one century only
LARGEST_GRAVITY = 10.0  # above, it is written in thousandths


def split_cell(kind: Kind, field: Field, use: Use, cell: Any) -> dict[str, Any] | None:
    """What such a cell says by field, in SI; None where it says one thing, and is read as any other."""
    text = str(cell).strip()
    if isinstance(cell, bool) or len(text) > LONGEST:
        return None
    if field.key in ("battery.chemistry", "battery.capacity_ah"):
        return _battery(kind, field, text) if isinstance(cell, str) else None
    if _gravity_key(field.key):
        return _gravity(field, text)
    if not isinstance(cell, str):
        return None
    if field.key == "year" and (short := _SHORT_YEAR.match(text)) and int(short[1]) > LAST_SHORT_YEAR:
        return {"year": 1900 + int(short[1])}
    if field.unit == "V" and (match := _SPLIT_VOLTS.match(text)):
        return {field.key: float(f"{match[1]}.{match[2]}")}
    if wheels := _keys_of_wheels(field.key):
        return _wheels(field, use, text, wheels)
    return _estimate(field, use, text)


def _battery(kind: Kind, field: Field, text: str) -> dict[str, Any] | None:
    """Capacity, volts and chemistry in one cell; what is left of it must be a chemistry, or nothing."""
    capacity, volts = _CAPACITY.search(text), _BATTERY_VOLTS.search(text)
    if not capacity and not volts:
        return None
    if _CAPACITY.fullmatch(text) and field.key == "battery.capacity_ah":
        return None  # a number with its unit
    rest = _BATTERY_VOLTS.sub(" ", _CAPACITY.sub(" ", text)).strip(" ,;/-()")
    found: dict[str, Any] = {}
    if capacity:
        found["battery.capacity_ah"] = float(capacity[1].replace(",", "."))
    if volts:
        found["battery.volts"] = volts[1]
    chemistry = kind.field("battery.chemistry")
    if rest and chemistry and chemistry.choices:
        try:
            found["battery.chemistry"] = choice_of(rest, chemistry.choices(), chemistry)
        except BadCell:
            return None
    return found


def _gravity_key(key: str) -> bool:
    return key.startswith("r.specific_gravity") or key == "battery.full_sg"


def _gravity(field: Field, text: str) -> dict[str, Any] | None:
    """1265, “SG 1265”, 1.265: all one."""
    match = _GRAVITY.match(text)
    if not match:
        return None
    value = float(match[1].replace(",", "."))
    if value < LARGEST_GRAVITY and match[1] == text:
        return None
    return {field.key: value / 1000 if value > LARGEST_GRAVITY else value}


def _keys_of_wheels(key: str) -> list[str]:
    """The fields of the four wheels, of the field that means all of them."""
    if key == "r.tyre_pressure.all":
        return [f"r.tyre_pressure.{wheel.code}" for wheel in WHEELS]
    of = key.removeprefix("tyres.")
    return [f"{wheel.code}.{of}" for wheel in WHEELS] if key == f"tyres.{of}" else []


def _wheels(field: Field, use: Use, text: str, keys: list[str]) -> dict[str, Any] | None:
    """Four figures are the wheels in the order of a walk across each axle; two are front and rear."""
    match = _WHEELS.match(text)
    figures = re.split(r"\s*[/;|]\s*", match[1]) if match else []
    if not match or len(figures) not in (2, len(keys)):
        return None
    each = figures if len(figures) == len(keys) else [figures[at // 2] for at in range(len(keys))]
    if not field.unit:
        return dict(zip(keys, each, strict=True))
    unit = unit_named(field.unit, match[2] or use.unit)
    if unit is None:
        return None
    values = (unit.to_si(numbers.number(it, use.decimal)) for it in each)
    return dict(zip(keys, values, strict=True))


def _estimate(field: Field, use: Use, text: str) -> dict[str, Any] | None:
    """“ca. 2005”: the number, known as an estimate."""
    match = _ESTIMATE.match(text)
    if not match or field.type not in ("number", "whole"):
        return None
    if match[1].strip(".").casefold() not in dictionaries.about():
        return None
    parts = numbers.split_unit(match[2])
    if parts is None:
        return None
    unit = unit_named(field.unit, normal(parts[1]) or use.unit) if field.unit else None
    if (parts[1] or field.unit) and unit is None:
        return None
    value = numbers.number(parts[0], use.decimal)
    value = unit.to_si(value) if unit else value
    return {field.key: int(value) if field.type == "whole" and value.is_integer() else value}
