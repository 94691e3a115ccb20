"""The person's units at the edge; inside everything is SI."""

from dataclasses import dataclass
from functools import cache

from scheduler.vocabulary.units import PREFERENCES, UNITS, Unit

_UNITLESS = Unit(name="")


@dataclass(frozen=True)
class Edge:
    """What one person reads and types, by their choice of units (collection.models.Units)."""

    units: str

    def unit(self, stored: str) -> Unit:
        """The person's own unit for a stored one; a unit that all people share stays as it is."""
        return _unit(PREFERENCES[self.units].get(stored, stored), stored)

    @property
    def pressure_unit(self) -> str:
        """Of pressures."""
        return self.unit("kPa").name

    @property
    def temperature_unit(self) -> str:
        """Of temperatures."""
        return self.unit("°C").name

    @property
    def distance_unit(self) -> str:
        """Of distances."""
        return self.unit("km").name

    @property
    def volume_unit(self) -> str:
        """Of volumes."""
        return self.unit("litres").name

    def to_kpa(self, pressure: float) -> float:
        """Typed pressure to kPa."""
        return self.unit("kPa").to_si(pressure)

    def from_kpa(self, kpa: float) -> float:
        """kPa to the person's pressure."""
        return self.unit("kPa").from_si(kpa)

    def to_c(self, temperature: float) -> float:
        """Typed temperature to °C."""
        return self.unit("°C").to_si(temperature)

    def from_c(self, celsius: float) -> float:
        """°C to the person's temperature."""
        return self.unit("°C").from_si(celsius)

    def to_km(self, distance: float) -> float:
        """Typed distance to km."""
        return self.unit("km").to_si(distance)

    def from_km(self, km: float) -> float:
        """Kilometres to the person's distance."""
        return self.unit("km").from_si(km)

    def from_litres(self, litres: float) -> float:
        """Litres to the person's volume."""
        return self.unit("litres").from_si(litres)


def read_unit(stored: str, read_in: str, edge: Edge) -> Unit:
    """The unit in which a quantity is read: one that all people use for it, or the person's own."""
    return _unit(read_in, stored) if read_in else edge.unit(stored)


@cache
def _unit(name: str, stored: str) -> Unit:
    known = UNITS.get(stored, ())
    return next((unit for unit in known if unit.name == name), Unit(name=name) if name else _UNITLESS)


def edge(units: str) -> Edge:
    """The edge for a person's choice of units; KeyError for one that there is not."""
    if units not in PREFERENCES:
        raise KeyError(units)
    return Edge(units)
