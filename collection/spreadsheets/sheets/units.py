"""Units that people write in headings and cells."""

import re

from collection.web.units import Edge
from scheduler.vocabulary import units as vocabulary
from scheduler.vocabulary.units import GALLONS, UNITS, Unit

AMERICAN, BRITISH = "US gal", "UK gal"
LONGEST = 200  # signs of a heading, and of a cell, in which a unit is sought
BRACKETS = re.compile(r"[(\[{]([^()\[\]{}]*)[)\]}]")  # the innermost, so that each sign is looked at once


def unit_named(stored: str, words: str, edge: Edge | None = None) -> Unit | None:
    """The unit of this quantity that somebody wrote so; a bare gallon is the reader's own."""
    if len(words) > LONGEST:
        return None
    if stored not in UNITS:
        return None
    if stored == "litres" and words.casefold().replace(".", " ").strip() in GALLONS:
        own = edge.unit("litres").name if edge else AMERICAN
        words = AMERICAN if own == AMERICAN else BRITISH
    return vocabulary.unit_named(stored, words)


def unit_in_heading(stored: str, heading: str, edge: Edge) -> Unit | None:
    """The unit that a heading names: in brackets, after a comma, or as its last words."""
    heading = heading[:LONGEST]
    pieces = BRACKETS.findall(heading) + re.split(r"[,:/]", heading)[1:]
    words = re.sub(r"[()\[\],:_]", " ", heading).split()
    pieces += [" ".join(words[-2:]), *words[-1:]] if len(words) > 1 else []
    units = (unit_named(stored, piece, edge) for piece in pieces)
    return next((unit for unit in units if unit), None)


def own_unit(stored: str, edge: Edge) -> Unit | None:
    """The unit in which this person reads the quantity; None where a quantity has no unit."""
    return edge.unit(stored) if stored in UNITS else None


def stored_unit(stored: str) -> Unit | None:
    """The unit in which the quantity is stored."""
    return UNITS[stored][0] if stored in UNITS else None
