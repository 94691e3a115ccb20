"""Units of measure: the one table of their factors. SI, or what is named first, is what is stored.

Factors are exact by definition (international yard and pound agreement, 1959; US gallon = 231 cubic
inches; UK gallon = 4.54609 l, Weights and Measures Act 1985), except where a row says otherwise.
"""

from collections.abc import Mapping
from dataclasses import dataclass

KELVIN_OFFSET = 273.15
STANDARD_ATMOSPHERE_KPA = 101.325  # ISO 2533 standard atmosphere at sea level
GAS_CONSTANT_J_PER_MOL_K = 8.314462618  # SI defining constants, 2019
DAYS_PER_YEAR = 365.2425  # Gregorian mean
DAYS_PER_MONTH = DAYS_PER_YEAR / 12
KPA_PER_BAR = 100.0
KPA_PER_PSI = 6.894757293168
KPA_PER_INHG = 3.386389  # conventional inch of mercury, NIST SP 811 (from memory)
F_PER_K = 1.8
C_PER_F = 1 / F_PER_K
F_AT_0_C = 32.0
KM_PER_MILE = 1.609344
LITRES_PER_US_GALLON = 3.785411784
LITRES_PER_UK_GALLON = 4.54609
ML_PER_US_PINT = LITRES_PER_US_GALLON * 1000 / 8
ML_PER_US_FL_OZ = LITRES_PER_US_GALLON * 1000 / 128
M_PER_FOOT = 0.3048


@dataclass(frozen=True, kw_only=True)
class Unit:
    """A unit: stored value = value · factor + offset. ``also``: other ways to write it."""

    name: str
    factor: float = 1.0
    offset: float = 0.0
    also: tuple[str, ...] = ()

    def to_si(self, value: float) -> float:
        """A value in this unit as it is stored."""
        return value * self.factor + self.offset

    def from_si(self, value: float) -> float:
        """A stored value in this unit."""
        return (value - self.offset) / self.factor

    def format(self, value: float, form: str = ".4g") -> str:
        """A stored value in words, with this unit and a real minus sign.

        >>> Unit(name="psi", factor=KPA_PER_PSI).format(220.0)
        '31.91 psi'
        """
        return f"{self.from_si(value):{form}} {self.name}".rstrip().replace("-", "−")


# By the unit that is stored, which stands first.
UNITS: Mapping[str, tuple[Unit, ...]] = {
    "kPa": (
        Unit(name="kPa"),
        Unit(name="bar", factor=KPA_PER_BAR),
        Unit(name="psi", factor=KPA_PER_PSI, also=("lb/in2", "lbs/in2", "psig", "lb", "lbs")),
        Unit(name="inHg", factor=KPA_PER_INHG, also=("inhg", "in hg", "inches of mercury")),
    ),
    "°C": (
        Unit(name="°C", also=("c", "degc", "deg c", "celsius")),
        Unit(
            name="°F", factor=C_PER_F, offset=-F_AT_0_C * C_PER_F, also=("f", "degf", "deg f", "fahrenheit")
        ),
    ),
    "K": (Unit(name="K"), Unit(name="°C"), Unit(name="°F", factor=C_PER_F)),  # a difference
    "1": (Unit(name=""), Unit(name="%", factor=0.01)),  # a share of the whole
    "km": (
        Unit(name="km", also=("kms", "kilometres", "kilometers")),
        Unit(name="miles", factor=KM_PER_MILE, also=("mi", "mile")),
    ),
    "litres": (
        Unit(name="litres", also=("l", "litre", "liter", "liters", "ltr", "ltrs")),
        Unit(name="US gal", factor=LITRES_PER_US_GALLON, also=("us gallons", "us gallon", "usg", "gal us")),
        Unit(name="UK gal", factor=LITRES_PER_UK_GALLON, also=("imp gal", "imperial gallons", "uk gallons")),
    ),
    "V": (Unit(name="V", also=("volt", "volts", "vdc", "v dc")), Unit(name="mV", factor=0.001)),
    "A": (
        Unit(name="A", also=("amp", "amps", "ampere")),
        Unit(name="mA", factor=0.001, also=("milliamp", "milliamps")),
    ),
    "mA": (
        Unit(name="mA", also=("milliamp", "milliamps")),
        Unit(name="A", factor=1000.0, also=("amp", "amps")),
    ),
    "Ah": (Unit(name="Ah", also=("amp hours", "a h")),),
    "min": (
        Unit(name="min", also=("mins", "minute", "minutes", "m")),
        Unit(name="h", factor=60.0, also=("hr", "hrs", "hour", "hours")),
    ),
    "h": (
        Unit(name="h", also=("hr", "hrs", "hour", "hours")),
        Unit(name="min", factor=1 / 60, also=("mins", "minutes")),
        Unit(name="days", factor=24.0, also=("d", "day")),
    ),
    "ml": (
        Unit(name="ml", also=("millilitres", "cc")),
        Unit(name="US fl oz", factor=ML_PER_US_FL_OZ, also=("oz", "fl oz")),
        Unit(name="litres", factor=1000.0, also=("l",)),
        Unit(name="US pint", factor=ML_PER_US_PINT, also=("us pints",)),
    ),
    "s": (Unit(name="s", also=("sec", "seconds")), Unit(name="min", factor=60.0, also=("minutes",))),
    "%": (Unit(name="%", also=("percent", "pct", "% rh", "rh", "%rh", "% vol")),),
    "m": (
        Unit(name="m", also=("metres", "meters")),
        Unit(name="ft", factor=M_PER_FOOT, also=("feet", "foot")),
    ),
}
GALLONS = ("gal", "gals", "gallon", "gallons")  # whose they are depends on who writes

# What a person who chose these units reads and types; what is not named is read as it is stored.
_ALL = {"1": "%"}
PREFERENCES: Mapping[str, Mapping[str, str]] = {
    "metric": _ALL | {"kPa": "bar", "K": "°C"},
    "british": _ALL | {"kPa": "psi", "km": "miles", "K": "°C"},
    "american": _ALL | {"kPa": "psi", "°C": "°F", "km": "miles", "litres": "US gal", "K": "°F"},
}


def unit_named(stored: str, words: str) -> Unit | None:
    """The unit that somebody wrote so, among those of a quantity stored in ``stored``; None: not one of them.

    >>> unit_named("kPa", "lbs/in2").name
    'psi'
    """
    written = " ".join(words.casefold().replace(".", " ").replace("º", "°").split())
    known = UNITS.get(stored, (Unit(name=stored),))
    return next((unit for unit in known if written == unit.name.casefold() or written in unit.also), None)
