"""Units that people write in headings and cells."""

import re
from collections.abc import Sequence
from itertools import pairwise

from collection.spreadsheets.sheets import dictionaries
from collection.spreadsheets.sheets.dictionaries import normal
from collection.web.units import Edge
from scheduler.vocabulary import units as vocabulary
from scheduler.vocabulary.units import GALLONS, UNITS, Unit

AMERICAN, BRITISH = "US gal", "UK gal"
GALLON = "gal"  # whose, nobody has said
LONGEST = 200  # signs of a heading, and of a cell, in which a unit is sought
BRACKETS = re.compile(r"[(\[{]([^()\[\]{}]*)[)\]}]")  # the innermost, so that each sign is looked at once


def unit_named(stored: str, words: str) -> Unit | None:
    """The unit of this quantity that somebody wrote so, in one of the languages; a bare gallon is none."""
    if stored not in UNITS or len(words) > LONGEST:
        return None
    ours = dictionaries.units().get(normal(words))
    return vocabulary.unit_named(stored, words) or (vocabulary.unit_named(stored, ours) if ours else None)


def is_bare_gallon(stored: str, words: str) -> bool:
    """Whether somebody wrote gallons without their country."""
    return stored == "litres" and words.casefold().replace(".", " ").strip() in GALLONS


def unit_in_heading(stored: str, heading: str) -> Unit | None:
    """The unit that a heading names: in brackets, after a comma, or among its words."""
    return next((unit for piece in _pieces(heading) if (unit := unit_named(stored, piece))), None)


def gallons_in_heading(stored: str, heading: str) -> bool:
    """Whether a heading speaks of gallons and does not say whose."""
    return any(is_bare_gallon(stored, piece) for piece in _pieces(heading))


def _pieces(heading: str) -> list[str]:
    heading = heading[:LONGEST]
    pieces = BRACKETS.findall(heading) + re.split(r"[,:/]", heading)[1:]
    words = re.sub(r"[()\[\],:_]", " ", heading).split()
    pairs = [" ".join(pair) for pair in pairwise(words)]
    return [*pieces, *reversed(pairs), *words[-1:], *(word for word in words if len(word) > 2)]


def likely_unit(stored: str, values: Sequence[float]) -> Unit | None:
    """The unit that the figures themselves can only be in; None where several fit or nothing is known."""
    spans = _SPANS.get(stored)
    if not spans or not values:
        return None
    for name, low, high in spans:
        if all(low <= value <= high for value in values):
            return unit_named(stored, name)
    return None


# Of tyres, oil and batteries; figures between two spans are asked about (policy).
_SPANS: dict[str, tuple[tuple[str, float, float], ...]] = {
    "kPa": (("bar", 0.5, 8.0), ("psi", 12.0, 95.0), ("kPa", 100.0, 700.0)),
    "V": (("V", 0.0, 50.0), ("mV", 1000.0, 50_000.0)),
}
# Quantities of which no figure says the unit: asked about where neither heading nor cells do.
ASKED = ("litres", "km", "°C", "kPa", "ml", "V")


def own_unit(stored: str, edge: Edge) -> Unit | None:
    """The unit in which this person reads the quantity; None where a quantity has no unit."""
    return edge.unit(stored) if stored in UNITS else None


def stored_unit(stored: str) -> Unit | None:
    """The unit in which the quantity is stored."""
    return UNITS[stored][0] if stored in UNITS else None
