"""Conversions between the units people use and the SI units inside.

Factors are exact by definition (international yard and pound agreement, 1959;
US liquid gallon = 231 cubic inches; imperial gallon = 4.54609 L), except atmospheric pressure.
"""

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

KELVIN_OFFSET = 273.15
STANDARD_ATMOSPHERE_KPA = 101.325  # ISO 2533 standard atmosphere at sea level
GAS_CONSTANT_J_PER_MOL_K = 8.314462618  # SI defining constants, 2019
KPA_PER_PSI = 6.894757293168
KPA_PER_BAR = 100.0
LITRES_PER_US_GALLON = 3.785411784
LITRES_PER_IMPERIAL_GALLON = 4.54609
KM_PER_MILE = 1.609344
DAYS_PER_YEAR = 365.2425  # Gregorian mean
DAYS_PER_MONTH = DAYS_PER_YEAR / 12


def kelvin(celsius: npt.ArrayLike) -> Floats:
    """Celsius to kelvin, any shape."""
    return np.asarray(celsius, float) + KELVIN_OFFSET


def celsius_from_fahrenheit(fahrenheit: npt.ArrayLike) -> Floats:
    """Fahrenheit to Celsius, any shape."""
    return (np.asarray(fahrenheit, float) - 32.0) / 1.8
