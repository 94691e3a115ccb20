"""A reason as a page shows it: values in the reader's units, and the form for what was assumed."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from collection.due.core.reasons import Input
from collection.web.units import Edge
from scheduler.vocabulary.duties import DUTY


@dataclass(frozen=True)
class Given:
    """An input as a row of the table."""

    name: str
    value: str
    basis: str
    on: date | None


@dataclass(frozen=True)
class Assumption:
    """What was assumed, and the part of the car's record that would replace it."""

    text: str
    part: str
    part_title: str


PARTS = {
    "car": "the car",
    "battery": "its battery",
    "fuel": "its fuel",
    "fluids": "its fluids",
    "tyres": "its tyres",
    "last": "when it was last used",
}
# Words in an assumption that belong to another part of the record than its duty; the first that fits.
PART_BY_WORD = (
    (("tank", "vent", "shelter", "bay", "in storage", "regime", "carburettor", "injection", "engine"), "car"),
    (("battery", "drain", "capacity", "charge"), "battery"),
    (("ethanol", "fuel", "petrol", "diesel", "filled"), "fuel"),
    (("oil", "coolant", "brake fluid", "glycol"), "fluids"),
    (("tyre", "placard"), "tyres"),
    (("last ", "moved", "run", "attended"), "last"),
)


def read_by(inputs: Sequence[Input], edge: Edge) -> list[Given]:
    """The inputs with their values in words."""
    return [Given(i.name, format_value(i.value, i.unit, edge), i.basis, i.on) for i in inputs]


def format_value(value: float | date | str, unit: str, edge: Edge) -> str:
    """A value with its unit, in the units that the reader has chosen."""
    if isinstance(value, date):
        return f"{value:%a} {value.day} {value:%b %Y}"
    if isinstance(value, str):
        return f"{value} {unit}".strip()
    return "not known" if math.isnan(value) else edge.unit(unit).format(value)


def assumed(texts: Sequence[str], duty: str) -> list[Assumption]:
    """Each assumption with the form that would replace it."""
    return [Assumption(text, part := _part(text, duty), PARTS[part]) for text in texts]


def _part(text: str, duty: str) -> str:
    own = DUTY[duty].record
    lowered = text.lower()
    named = [part for words, part in PART_BY_WORD if any(word in lowered for word in words)]
    return own if own in named or not named else named[0]
