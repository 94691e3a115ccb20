"""What every mechanism asks of its arguments before it computes."""

import numpy as np
import numpy.typing as npt

from scheduler.errors import BadInput, OutOfRange

Floats = npt.NDArray[np.float64]


def within(argument: str, value: npt.ArrayLike, low: float, high: float, unit: str, source: str) -> Floats:
    """``value`` as floats of any shape; raises if any is NaN or outside ``low`` to ``high``."""
    checked = np.asarray(value, float)
    if np.any(np.isnan(checked)):
        raise BadInput(argument, "is not a number")
    outside = (checked < low) | (checked > high)
    if np.any(outside):
        raise OutOfRange(argument, float(checked[outside].flat[0]), low, high, unit, source)
    return checked
