"""The person's units at the edge; inside everything is SI."""

from dataclasses import dataclass
from functools import cache

from scheduler.vocabulary.units import PREFERENCES, UNITS, Unit

A_SHARE = "of "  # how a unit begins that says of what a value is the share


@dataclass(frozen=True)
class Edge:
    """What one person reads and types, by their choice of units (collection.models.Units)."""

    units: str

    def unit(self, stored: str, read_in: str = "") -> Unit:
        """The unit in which this person reads and types a quantity that is stored in ``stored``.

        ``read_in``: one that all people use for this quantity. A share of something is read in per cent;
        a unit that is not in the table is read as it is stored.
        """
        if stored.startswith(A_SHARE):
            share = self.unit("1")
            return Unit(name=f"{share.name} {stored}", factor=share.factor)
        return _unit(read_in or PREFERENCES[self.units].get(stored, stored), stored)


@cache
def _unit(name: str, stored: str) -> Unit:
    return next((unit for unit in UNITS.get(stored, ()) if unit.name == name), Unit(name=name))


def edge(units: str) -> Edge:
    """The edge for a person's choice of units; KeyError for one that there is not."""
    if units not in PREFERENCES:
        raise KeyError(units)
    return Edge(units)
