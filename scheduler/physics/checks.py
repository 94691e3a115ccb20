"""What every mechanism asks of its arguments before it computes."""

import numpy as np
import numpy.typing as npt

from scheduler.vocabulary.errors import BadInput, OutOfRange

Floats = npt.NDArray[np.float64]


def within(argument: str, value: npt.ArrayLike, low: float, high: float, unit: str, source: str) -> Floats:
    """``value`` as floats of any shape; raises if any is NaN or outside ``low`` to ``high``."""
    checked = np.asarray(value, float)
    inside = (checked >= low) & (checked <= high)  # false for NaN too
    if inside.all():
        return checked
    if np.isnan(checked).any():
        raise BadInput(argument, "is not a number")
    raise OutOfRange(argument, float(checked[~inside].flat[0]), low, high, unit, source)
