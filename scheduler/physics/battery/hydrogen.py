"""A charging battery gives off hydrogen: how much air a charging bay needs.

What happens: past the gassing voltage the current splits water. Hydrogen burns in air from about
4 % by volume (OSHA interpretation letter of 26 January 1976: 4.1 %).
The standard's flow keeps it below that with a fivefold margin.
This is a planning figure, never a permission: follow the local code, and have the bay approved.

Equations (EN 62485-2, formerly EN 50272-2, read second-hand)::

    Q = v q s · n · I_gas · C / 1000 = 0.05 · n · I_gas · C / 1000       m³/h
    v = 24 (dilution 96/4)   q = 0.42e-3 m³/Ah   s = 5 (margin)
    A = 28 Q                                                            cm², each of inlet and outlet
"""

import numpy as np
import numpy.typing as npt

from scheduler.vocabulary.constants import Constant, Standing
from scheduler.vocabulary.errors import BadInput

Floats = npt.NDArray[np.float64]

_EN = "EN 62485-2 (formerly EN 50272-2), second-hand"
DILUTION = Constant(24.0, "1", _EN, Standing.PUBLISHED)
HYDROGEN_AT_0C = Constant(0.42e-3, "m³/Ah", f"{_EN}; Faraday's law gives 0.418e-3", Standing.PUBLISHED)
MARGIN = Constant(5.0, "1", _EN, Standing.PUBLISHED)
OPENING_CM2_PER_FLOW = Constant(28.0, "cm² h/m³", _EN, Standing.PUBLISHED)


def ventilation_m3_h(
    cells: npt.ArrayLike, gas_ma_per_ah: npt.ArrayLike, capacity_ah: npt.ArrayLike
) -> Floats:
    """Fresh air needed while charging, m³/h, summed by the caller over batteries; shapes broadcast.

    ``cells`` in series; ``gas_ma_per_ah`` the gassing current, 0 or more.
    BadInput: ``capacity_ah`` not above nought.
    Valid to about 40 °C and for batteries in good order (a failed cell gases far more).
    """
    capacity = np.asarray(capacity_ah, float)
    if not (capacity > 0.0).all():
        raise BadInput("capacity_ah", "must be above zero")
    # the standard rounds v q s = 0.0504 to 0.05
    flow_per_ma_cell = round(DILUTION.value * HYDROGEN_AT_0C.value * MARGIN.value, 2) / 1000.0
    return np.asarray(
        flow_per_ma_cell * np.asarray(cells, float) * np.asarray(gas_ma_per_ah, float) * capacity
    )


def opening_cm2(flow_m3_h: npt.ArrayLike) -> Floats:
    """Free area of each of inlet and outlet for natural ventilation, cm², any shape.

    >>> round(float(opening_cm2(ventilation_m3_h(6, 20.0, 60.0))), 2)
    10.08
    """
    return np.asarray(OPENING_CM2_PER_FLOW.value * np.asarray(flow_m3_h, float))
