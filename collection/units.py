"""The person's units at the edge; inside everything is SI."""

from dataclasses import dataclass

KPA_PER_BAR = 100.0
KPA_PER_PSI = 6.894757293168  # exact by the definitions of pound and inch
KM_PER_MILE = 1.609344  # exact, international mile
LITRES_PER_US_GALLON = 3.785411784  # exact, 231 cubic inches


@dataclass(frozen=True)
class Edge:
    """What one person reads and types."""

    pressure_unit: str
    kpa_per_pressure: float
    temperature_unit: str
    distance_unit: str
    km_per_distance: float
    volume_unit: str
    litres_per_volume: float

    def to_kpa(self, pressure: float) -> float:
        """Typed pressure to kPa."""
        return pressure * self.kpa_per_pressure

    def from_kpa(self, kpa: float) -> float:
        """kPa to the person's pressure."""
        return kpa / self.kpa_per_pressure

    def to_c(self, temperature: float) -> float:
        """Typed temperature to °C."""
        return (temperature - 32) / 1.8 if self.temperature_unit == "°F" else temperature

    def from_c(self, celsius: float) -> float:
        """°C to the person's temperature."""
        return celsius * 1.8 + 32 if self.temperature_unit == "°F" else celsius

    def to_km(self, distance: float) -> float:
        """Typed distance to km."""
        return distance * self.km_per_distance

    def from_km(self, km: float) -> float:
        """Kilometres to the person's distance."""
        return km / self.km_per_distance

    def to_litres(self, volume: float) -> float:
        """Typed volume to litres."""
        return volume * self.litres_per_volume

    def from_litres(self, litres: float) -> float:
        """Litres to the person's volume."""
        return litres / self.litres_per_volume


_EDGES = {
    "metric": Edge("bar", KPA_PER_BAR, "°C", "km", 1.0, "litres", 1.0),
    "british": Edge("psi", KPA_PER_PSI, "°C", "miles", KM_PER_MILE, "litres", 1.0),
    "american": Edge("psi", KPA_PER_PSI, "°F", "miles", KM_PER_MILE, "US gal", LITRES_PER_US_GALLON),
}


def edge(units: str) -> Edge:
    """The edge for a person's choice of units (collection.models.Units)."""
    return _EDGES[units]
