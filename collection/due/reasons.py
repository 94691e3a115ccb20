"""A reason as a page shows it: values in the reader's units, and the form for what was assumed."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Protocol

from collection.web.units import Edge
from scheduler.vocabulary.duties import DUTY


class Input(Protocol):
    """One input of a calculation and where it came from."""

    @property
    def name(self) -> str: ...  # noqa: D102
    @property
    def value(self) -> float | date | str: ...  # noqa: D102
    @property
    def unit(self) -> str: ...  # noqa: D102
    @property
    def basis(self) -> str: ...  # noqa: D102
    @property
    def on(self) -> date | None: ...  # noqa: D102


@dataclass(frozen=True)
class InputLine:
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
    "last": "the last times",
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


def input_lines(inputs: Sequence[Input], edge: Edge) -> list[InputLine]:
    """The inputs with their values in words."""
    return [InputLine(i.name, format_input(i.value, i.unit, edge), i.basis, i.on) for i in inputs]


def format_input(value: float | date | str, unit: str, edge: Edge) -> str:
    """A value with its unit, in the units that the reader has chosen."""
    if isinstance(value, date):
        return f"{value:%a} {value.day} {value:%b %Y}"
    if isinstance(value, str):
        return f"{value} {unit}".strip()
    if math.isnan(value):
        return "not known"
    if unit.startswith("of "):
        return f"{value * 100:.4g} % {unit}"
    number, said_unit = _at_the_edge(value, unit, edge)
    return f"{number:.4g} {said_unit}".strip().replace("-", "−")


def _at_the_edge(value: float, unit: str, edge: Edge) -> tuple[float, str]:
    if unit == "1":
        return value * 100, "%"
    own = edge.unit("litres" if unit == "l" else unit)
    return own.from_si(value), own.name


def assumed(texts: Sequence[str], duty: str) -> list[Assumption]:
    """Each assumption with the form that would replace it."""
    return [Assumption(text, part := _part(text, duty), PARTS[part]) for text in texts]


def _part(text: str, duty: str) -> str:
    own = DUTY[duty].record
    lowered = text.lower()
    named = [part for words, part in PART_BY_WORD if any(word in lowered for word in words)]
    return own if own in named or not named else named[0]
