"""Temperatures as arrays."""

import numpy as np
import numpy.typing as npt

from scheduler.vocabulary.units import C_PER_F, F_AT_0_C, KELVIN_OFFSET

Floats = npt.NDArray[np.float64]


def kelvin(celsius: npt.ArrayLike) -> Floats:
    """Celsius to kelvin, any shape."""
    return np.asarray(celsius, float) + KELVIN_OFFSET


def celsius_from_fahrenheit(fahrenheit: npt.ArrayLike) -> Floats:
    """Fahrenheit to Celsius, any shape."""
    return (np.asarray(fahrenheit, float) - F_AT_0_C) * C_PER_F
