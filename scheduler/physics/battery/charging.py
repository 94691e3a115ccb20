"""Putting charge back: how long, how much electricity, at what volts.

Equations::

    hours  = deficit_ah · F / I                      F: ampere-hours in for each out
    energy = deficit_ah · V_nominal / efficiency     watt-hours at the battery's terminals
    V_float(T) = cells · (V25 - 0.004 (T - 25))      a maintainer's volts

Cautions: never charge a frozen battery; stop at 52 °C (Navy NAVEDTRA 14113); lithium iron phosphate
is charged only at 0 °C or above. The mains side of a charger takes more than the battery does.
"""

import numpy as np
import numpy.typing as npt

from scheduler.physics.battery.discharge import REFERENCE_C
from scheduler.physics.checks import within
from scheduler.vocabulary.constants import Constant, Standing
from scheduler.vocabulary.errors import BadInput

Floats = npt.NDArray[np.float64]

FLOAT_V_PER_K = Constant(
    -0.004,
    "V/K per cell",
    "between -3 and -5 mV/K in makers' sheets and charger notes (second-hand)",
    Standing.PUBLISHED,
    -0.005,
    -0.003,
)
LITHIUM_COLDEST_C = Constant(
    0.0, "°C", "LiFePO4 cell sheet (second-hand): charge at 0 °C or above", Standing.PUBLISHED
)
COLDEST_FLOAT_C = Constant(-40.0, "°C", "colder than any store; the acid is held full", Standing.POLICY)
HOTTEST_C = Constant(
    52.0, "°C", "Navy NAVEDTRA 14113: stop charging at 125 °F electrolyte", Standing.PUBLISHED
)


def charge_hours(deficit_ah: npt.ArrayLike, charger_a: npt.ArrayLike, factor: npt.ArrayLike) -> Floats:
    """Hours on a charger of ``charger_a`` to put back ``deficit_ah``; shapes broadcast.

    ``factor``, 1 or more: ampere-hours in for each out.
    BadInput: a deficit below nought, a charger not above it.

    >>> float(charge_hours(15.0, 4.0, 1.2))
    4.5
    """
    charger_a = np.asarray(charger_a, float)
    if not (charger_a > 0.0).all():
        raise BadInput("charger_a", "must be above zero")
    return np.asarray(_deficit(deficit_ah) * np.asarray(factor, float) / charger_a)


def charge_energy_wh(
    deficit_ah: npt.ArrayLike, nominal_v: npt.ArrayLike, energy_efficiency: npt.ArrayLike
) -> Floats:
    """Watt-hours at the terminals to put back ``deficit_ah``; shapes broadcast.

    ``deficit_ah`` 0 or more (BadInput otherwise); ``energy_efficiency`` above 0 to 1: energy out for each in.
    """
    return np.asarray(
        _deficit(deficit_ah) * np.asarray(nominal_v, float) / np.asarray(energy_efficiency, float)
    )


def float_volts(volts_per_cell_at_25c: npt.ArrayLike, cells: npt.ArrayLike, temp_c: npt.ArrayLike) -> Floats:
    """A maintainer's volts at ``temp_c``, -40 to 52 °C; shapes broadcast; OutOfRange beyond.

    ``volts_per_cell_at_25c``: of one of its ``cells``, as the chemistry's row gives it.
    """
    temp_c = within("temp_c", temp_c, COLDEST_FLOAT_C.value, HOTTEST_C.value, "°C", HOTTEST_C.source)
    per_cell = np.asarray(volts_per_cell_at_25c, float) + FLOAT_V_PER_K.value * (temp_c - REFERENCE_C.value)
    return np.asarray(np.asarray(cells, float) * per_cell)


def _deficit(deficit_ah: npt.ArrayLike) -> Floats:
    deficit = np.asarray(deficit_ah, float)
    if not (deficit >= 0.0).all():
        raise BadInput("deficit_ah", "must be zero or above")
    return deficit
