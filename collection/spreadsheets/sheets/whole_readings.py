"""Readings of one entry that do not fit one line of a table: each with a temperature of its own."""

import json
from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from collection.care.draft import Measured
from scheduler.vocabulary.quantities import QUANTITY

_NAMES = ("quantity", "value", "position", "temperature_c", "rest_hours")


def is_flat(readings: Sequence[Any]) -> bool:
    """Whether all were taken at one temperature and after one rest, each at a place of its own."""
    along = {(reading.temperature_c, reading.rest_hours) for reading in readings}
    places = {(reading.quantity, reading.position) for reading in readings}
    return len(along) <= 1 and len(places) == len(readings)


def readings_in_full(readings: Sequence[Any]) -> str:
    """The readings as one text."""
    return json.dumps([asdict(Measured(**{name: getattr(it, name) for name in _NAMES})) for it in readings])


def readings_from(text: str) -> list[Measured]:
    """The readings out of such a text; ValueError when it is none."""
    try:
        rows = [Measured(**row) for row in json.loads(text)]
        if not all(row.quantity in QUANTITY for row in rows):
            raise ValueError("an unknown quantity")
        return [Measured(r.quantity, float(r.value), r.position, r.temperature_c, r.rest_hours) for r in rows]
    except (TypeError, ValueError, AttributeError, ArithmeticError, RecursionError) as error:
        raise ValueError("readings in full cannot be read: leave this column as it was written") from error
