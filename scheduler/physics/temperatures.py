"""Temperatures as arrays."""

import numpy as np
import numpy.typing as npt

from scheduler.vocabulary.units import KELVIN_OFFSET

Floats = npt.NDArray[np.float64]


def kelvin(celsius: npt.ArrayLike) -> Floats:
    """``celsius`` in kelvin, any shape."""
    return np.asarray(celsius, float) + KELVIN_OFFSET
