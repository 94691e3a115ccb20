"""How full is it: state of charge from rested volts, or from a hydrometer.

What happens: the volts of a rested battery follow the strength of its acid, and the acid its charge.
Volts mean something only after rest: fresh from charging they stand too high.

Equations: straight lines through the published table of each chemistry, carried on beyond its ends
(the caller bounds to 0..1), after::

    V80 = V_read · 12 / V_nominal - shift(T)            shift: the acid's own, -134 mV at -18 °C
    V80 = V80 - 6 (full SG - 1.265)                     a strong fill stands higher (volts = SG + 0.845)
    SG80 = SG_read + 0.00072 (T - 26.67)                hydrometer, 0.004 for each 10 °F

The other voltage table in circulation, "-0.024 V for each 10 °F", is the hydrometer's correction
times six cells; it shifts two to three times too far and is not used.
Accuracy: the table meets the electrochemical curve (Bode 1977 coefficients) within 14 mV.
Lithium iron phosphate is flat from 40 to 95 %: its volts give a wide band, never a figure.
"""

import numpy as np
import numpy.typing as npt

from scheduler.physics.battery.batteries import (
    BATTERIES,
    FULL_SG_STRONG,
    FULL_SG_USUAL,
    QUARTERS,
    SG_STRONG,
    SG_USUAL,
    SHIFT_TEMP_C,
    SHIFT_V,
    OpenCircuit,
)
from scheduler.physics.materials import at
from scheduler.vocabulary.constants import Constant, Standing
from scheduler.vocabulary.errors import BadInput

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

NOMINAL_V = 12.0
CELLS_OF_12V = 6.0
HYDROMETER_PER_K = Constant(
    0.00072,
    "1/K",
    "BCI: 0.004 for each 10 °F from 80 °F; worked in TM 5-3820-256-24-4 p. 366",
    Standing.PUBLISHED,
)
HYDROMETER_TRUE_AT_C = Constant(
    26.67, "°C", "US Army TM 9-6140-200-14 p. 3-11: true only at 80 °F", Standing.PUBLISHED
)
VOLTS_SD = Constant(
    0.03,
    "V",
    "a workshop meter and the table's own 14 mV, for a 12 V battery rested 8 hours",
    Standing.POLICY,
)
SG_SD = Constant(0.005, "1", "reading a hydrometer; cells that differ", Standing.POLICY)
REST_LEAST_H = Constant(
    3.0, "h", "US Army TM 9-6115-730-24 WP 0050: at least 3 hours, prefer 8", Standing.PUBLISHED
)
REST_GOOD_H = Constant(8.0, "h", "US Army TB 9-6140-252-13 WP 0011: 8 hours", Standing.PUBLISHED)
PROVISIONAL = 2.0  # policy: volts after too short or unknown a rest count half as sure
# What no rested cell shows: below, a meter fault or a slip; above, still on charge.
CELL_LEAST_V = Constant(0.0, "V", "a battery whose cells are all dead shows nothing", Standing.COMPUTED)
SOUND_CELL_LEAST_V = Constant(
    1.75,
    "V",
    "six whole lead cells rest at 10.6 V even in nearly pure water: less means a dead or reversed cell",
    Standing.COMPUTED,
)
CELL_MOST_V = Constant(2.25, "V", "higher is a battery still charging: float begins here", Standing.POLICY)
LITHIUM_CELL_LEAST_V = Constant(
    2.0,
    "V",
    "below it do not charge: second-hand; at nought the management has cut it off",
    Standing.COMMON_PRACTICE,
)
LITHIUM_MOST_V = Constant(3.65, "V", "LiFePO4 end of charge", Standing.FROM_MEMORY)


def acid_shift_v(temp_c: npt.ArrayLike) -> Floats:
    """Rested volts at ``temp_c`` less those at 26.7 °C, 12 V lead-acid, any shape; held beyond -18..38."""
    return np.asarray(np.interp(np.asarray(temp_c, float), SHIFT_TEMP_C, SHIFT_V))


def believable(volts: Floats, chemistry: Ints, nominal_v: Floats) -> npt.NDArray[np.bool_]:
    """Whether rested volts (n,) can be those of such a battery at all, flat or full."""
    cells = at(BATTERIES, chemistry, "cells_of_12v") * nominal_v / NOMINAL_V
    most = np.where(at(BATTERIES, chemistry, "lead"), CELL_MOST_V.value, LITHIUM_MOST_V.value)
    return np.asarray((volts / cells >= CELL_LEAST_V.value) & (volts / cells <= most))


def soc_from_volts(
    volts: npt.ArrayLike,
    temp_c: npt.ArrayLike,
    rest_hours: npt.ArrayLike,
    chemistry: npt.ArrayLike,
    nominal_v: npt.ArrayLike,
    full_sg: npt.ArrayLike,
) -> tuple[Floats, Floats]:
    """State of charge and its standard deviation (n,) from rested volts; see module.

    ``chemistry`` codes; ``nominal_v`` 6, 12 or 24; ``full_sg`` NaN for the usual fill; ``rest_hours``
    NaN counts as provisional, below 3 gives NaN. Not bounded: bound it where it is shown.
    BadInput: volts or temperature NaN, nominal volts not above nought.
    """
    volts, temp_c, rest_hours, nominal_v = (
        np.asarray(x, float) for x in (volts, temp_c, rest_hours, nominal_v)
    )
    codes = np.asarray(chemistry, np.int64)
    if np.isnan(volts).any() or np.isnan(temp_c).any():
        raise BadInput("volts", "and temp_c must be numbers everywhere")
    if not (nominal_v > 0.0).all():
        raise BadInput("nominal_v", "must be above zero")
    twelve = volts * NOMINAL_V / nominal_v
    strong = np.nan_to_num(np.asarray(full_sg, float) - FULL_SG_USUAL.value)
    acid = twelve - acid_shift_v(temp_c) - CELLS_OF_12V * strong
    sd_v = VOLTS_SD.value * np.where(rest_hours >= REST_GOOD_H.value, 1.0, PROVISIONAL)
    soc, sd = np.empty_like(twelve), np.empty_like(twelve)
    for code in np.unique(codes):  # a table a chemistry, never a car
        rows, curve = codes == code, BATTERIES[code].open_circuit
        seen = acid[rows] if curve.acid else twelve[rows]
        soc[rows] = _along(curve, seen)
        sd[rows] = (_along(curve, seen + sd_v[rows]) - _along(curve, seen - sd_v[rows])) / 2.0
    return np.where(rest_hours < REST_LEAST_H.value, np.nan, soc), sd


def _along(curve: OpenCircuit, volts: Floats) -> Floats:
    """Charge on the straight lines of a table, the end lines carried on."""
    x, y = np.array(curve.volts), np.array(curve.soc)
    segment = np.clip(np.searchsorted(x, volts) - 1, 0, len(x) - 2)
    slope = (y[segment + 1] - y[segment]) / (x[segment + 1] - x[segment])
    return np.asarray(y[segment] + slope * (volts - x[segment]))


def rested_volts(soc: npt.ArrayLike, temp_c: npt.ArrayLike, code: int, nominal_v: float) -> Floats:
    """What a meter shows on a rested battery of one chemistry, usual fill, at a charge 0 to 1, any shape."""
    curve = BATTERIES[code].open_circuit
    twelve = np.interp(np.asarray(soc, float), curve.soc, curve.volts)
    return np.asarray((twelve + (acid_shift_v(temp_c) if curve.acid else 0.0)) * nominal_v / NOMINAL_V)


def corrected_sg(sg_read: npt.ArrayLike, temp_c: npt.ArrayLike) -> Floats:
    """Hydrometer reading brought to 80 °F, any shape; the rule holds from 0 to 160 °F."""
    warmer_k = np.asarray(temp_c, float) - HYDROMETER_TRUE_AT_C.value
    return np.asarray(np.asarray(sg_read, float) + HYDROMETER_PER_K.value * warmer_k)


def soc_from_sg(
    sg_read: npt.ArrayLike, temp_c: npt.ArrayLike, full_sg: npt.ArrayLike
) -> tuple[Floats, Floats]:
    """State of charge and its standard deviation (n,) from a hydrometer; ``full_sg`` NaN: usual fill.

    ``sg_read`` (n,) is the specific gravity as read, about 1.05 to 1.30, at ``temp_c`` (n,) of the acid.
    Between the usual and the strong fill the two published tables are blended. Not bounded.
    """
    gravity = corrected_sg(sg_read, temp_c)
    full = np.where(np.isnan(full_sg), FULL_SG_USUAL.value, np.asarray(full_sg, float))
    share = (full - FULL_SG_USUAL.value) / (FULL_SG_STRONG.value - FULL_SG_USUAL.value)
    share = np.clip(share, 0.0, 1.0)
    levels = np.array(SG_USUAL)[:, None] * (1.0 - share) + np.array(SG_STRONG)[:, None] * share
    levels = levels + np.where((share > 0.0) & (share < 1.0), 0.0, full - levels[-1])
    soc = _between(levels, gravity)
    sd = (_between(levels, gravity + SG_SD.value) - _between(levels, gravity - SG_SD.value)) / 2.0
    return soc, sd


def _between(levels: Floats, gravity: Floats) -> Floats:
    """Charge from gravity (n,) where each column of ``levels`` (5, n) has its own table."""
    segment = np.clip((gravity >= levels).sum(axis=0) - 1, 0, len(QUARTERS) - 2)
    column, charge = np.arange(gravity.size), np.array(QUARTERS)
    low, high = levels[segment, column], levels[segment + 1, column]
    rise = charge[segment + 1] - charge[segment]
    return np.asarray(charge[segment] + rise * (gravity - low) / (high - low))
