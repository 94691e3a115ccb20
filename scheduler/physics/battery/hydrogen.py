"""A charging battery gives off hydrogen: how much air a charging bay needs.

What happens: past the gassing voltage the current splits water. Hydrogen burns in air from about
4 % by volume (OSHA interpretation letter of 26 January 1976: 4.1 %).
The standard's flow keeps it below that with a fivefold margin.
This is a planning figure, never a permission: follow the local code, and have the bay approved.

Equations (EN 62485-2, formerly EN 50272-2, read second-hand)::

    Q = v q s · n · I_gas · C / 1000 = 0.05 · n · I_gas · C / 1000       m³/h
    v = 24 (dilution 96/4)   q = 0.42e-3 m³/Ah   s = 5 (margin)
    A = 28 Q                                                            cm², each of inlet and outlet
    hydrogen = 0.42 L/Ah a cell at 0 °C, in proportion to kelvin        Faraday: 0.418
"""

import numpy as np
import numpy.typing as npt

from scheduler.physics.temperatures import kelvin
from scheduler.vocabulary.constants import Constant, Standing
from scheduler.vocabulary.errors import BadInput
from scheduler.vocabulary.units import KELVIN_OFFSET

Floats = npt.NDArray[np.float64]

_EN = "EN 62485-2 (formerly EN 50272-2), second-hand"
DILUTION = Constant(24.0, "1", _EN, Standing.PUBLISHED)
HYDROGEN_AT_0C = Constant(0.42e-3, "m³/Ah", f"{_EN}; Faraday's law gives 0.418e-3", Standing.PUBLISHED)
MARGIN = Constant(5.0, "1", _EN, Standing.PUBLISHED)
OPENING_CM2_PER_FLOW = Constant(28.0, "cm² h/m³", _EN, Standing.PUBLISHED)
DESIGN_LIMIT = Constant(0.01, "1", "1 % design limit in fire codes (second-hand)", Standing.PUBLISHED)


def ventilation_m3_h(
    cells: npt.ArrayLike, gas_ma_per_ah: npt.ArrayLike, capacity_ah: npt.ArrayLike
) -> Floats:
    """Fresh air needed while charging, m³/h, summed by the caller over batteries; matching shapes.

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
    """Free area of each of inlet and outlet for natural ventilation, cm², any shape."""
    return np.asarray(OPENING_CM2_PER_FLOW.value * np.asarray(flow_m3_h, float))


def hydrogen_l_h(cells: npt.ArrayLike, gassing_a: npt.ArrayLike, temp_c: npt.ArrayLike) -> Floats:
    """Hydrogen given off by ``cells`` in series passing ``gassing_a``, L/h at ``temp_c``."""
    per_ah_l = HYDROGEN_AT_0C.value * 1000.0 * kelvin(temp_c) / KELVIN_OFFSET
    return np.asarray(np.asarray(cells, float) * np.asarray(gassing_a, float) * per_ah_l)


def hours_to_fraction(volume_m3: npt.ArrayLike, hydrogen_flow_l_h: npt.ArrayLike, fraction: float) -> Floats:
    """Hours until a closed room of ``volume_m3`` holds ``fraction`` hydrogen by volume; no air change."""
    return np.asarray(np.asarray(volume_m3, float) * 1000.0 * fraction / np.asarray(hydrogen_flow_l_h, float))
