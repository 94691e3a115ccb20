"""Units that people write in headings and cells, and what they are in SI."""

import re
from dataclasses import dataclass

from collection.units import KM_PER_MILE, KPA_PER_BAR, KPA_PER_PSI, LITRES_PER_US_GALLON, Edge

LITRES_PER_UK_GALLON = 4.54609  # exact, Weights and Measures Act 1985
ML_PER_US_FL_OZ = 29.5735295625  # exact, a 128th of the US gallon
M_PER_FOOT = 0.3048  # exact, international foot


@dataclass(frozen=True)
class Unit:
    """A unit: value in SI = value · factor + offset."""

    name: str
    factor: float = 1.0
    offset: float = 0.0
    also: tuple[str, ...] = ()

    def to_si(self, value: float) -> float:
        """A value in this unit as SI."""
        return value * self.factor + self.offset

    def from_si(self, value: float) -> float:
        """An SI value in this unit."""
        return (value - self.offset) / self.factor


# by kind of quantity; the first unit of each is the one that is stored
WAYS: dict[str, tuple[Unit, ...]] = {
    "kpa": (
        Unit("kPa"),
        Unit("bar", KPA_PER_BAR),
        Unit("psi", KPA_PER_PSI, also=("lb/in2", "lbs/in2", "psig", "lb", "lbs")),
    ),
    "c": (
        Unit("°C", also=("c", "degc", "deg c", "celsius")),
        Unit("°F", 1 / 1.8, -32 / 1.8, ("f", "degf", "deg f", "fahrenheit")),
    ),
    "km": (
        Unit("km", also=("kms", "kilometres", "kilometers")),
        Unit("miles", KM_PER_MILE, also=("mi", "mile")),
    ),
    "litres": (
        Unit("litres", also=("l", "litre", "liter", "liters", "ltr", "ltrs")),
        Unit("US gal", LITRES_PER_US_GALLON, also=("us gallons", "us gallon", "usg", "gal us")),
        Unit("UK gal", LITRES_PER_UK_GALLON, also=("imp gal", "imperial gallons", "uk gallons")),
    ),
    "v": (Unit("V", also=("volt", "volts", "vdc", "v dc")), Unit("mV", 0.001)),
    "a": (Unit("A", also=("amp", "amps", "ampere")), Unit("mA", 0.001, also=("milliamp", "milliamps"))),
    "ma": (Unit("mA", also=("milliamp", "milliamps")), Unit("A", 1000.0, also=("amp", "amps"))),
    "ah": (Unit("Ah", also=("amp hours", "a h")),),
    "min": (
        Unit("min", also=("mins", "minute", "minutes", "m")),
        Unit("h", 60.0, also=("hr", "hrs", "hour", "hours")),
    ),
    "h": (
        Unit("h", also=("hr", "hrs", "hour", "hours")),
        Unit("min", 1 / 60, also=("mins", "minutes")),
        Unit("days", 24.0, also=("d", "day")),
    ),
    "ml": (
        Unit("ml", also=("millilitres", "cc")),
        Unit("US fl oz", ML_PER_US_FL_OZ, also=("oz", "fl oz")),
        Unit("litres", 1000.0, also=("l",)),
    ),
    "pct": (Unit("%", also=("percent", "pct", "% rh", "rh", "%rh", "% vol")),),
    "m": (Unit("m", also=("metres", "meters")), Unit("ft", M_PER_FOOT, also=("feet", "foot"))),
}
GALLONS = ("gal", "gals", "gallon", "gallons")


def unit_named(way: str, words: str, edge: Edge | None = None) -> Unit | None:
    """The unit of this quantity that somebody wrote so; a bare gallon is the reader's own."""
    said = " ".join(words.casefold().replace(".", " ").replace("º", "°").split())
    if way == "litres" and said in GALLONS:
        said = "us gal" if edge is None or edge.volume_unit == "US gal" else "uk gal"
    for unit in WAYS.get(way, ()):
        if said == unit.name.casefold() or said in unit.also:
            return unit
    return None


def unit_in_heading(way: str, heading: str, edge: Edge) -> Unit | None:
    """The unit that a heading names: in brackets, after a comma, or as its last words."""
    pieces = re.findall(r"[(\[{]([^)\]}]*)[)\]}]", heading) + re.split(r"[,:/]", heading)[1:]
    words = re.sub(r"[()\[\],:_]", " ", heading).split()
    pieces += [" ".join(words[-2:]), *words[-1:]] if len(words) > 1 else []
    found = (unit_named(way, piece, edge) for piece in pieces)
    return next((unit for unit in found if unit), None)


def own_unit(way: str, edge: Edge) -> Unit | None:
    """The unit in which this person reads the quantity; None where a quantity has no unit."""
    if way not in WAYS:
        return None
    names = {
        "kpa": edge.pressure_unit,
        "c": edge.temperature_unit,
        "km": edge.distance_unit,
        "litres": edge.volume_unit,
    }
    return unit_named(way, names.get(way, WAYS[way][0].name), edge)


def stored_unit(way: str) -> Unit | None:
    """The unit in which the quantity is stored."""
    return WAYS[way][0] if way in WAYS else None
