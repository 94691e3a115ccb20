"""A flat battery freezes: as it runs down its acid turns to water.

What happens: full acid stays liquid to about -60 °C, a flat battery's to about -9 °C. Ice bursts
the case and sheds the plates. A frozen battery must never be charged: thaw it first.
Long-stood flooded batteries stratify, and the weak top layer can start to freeze sooner; hence a margin.

Equation: straight lines through the warmest freezing point that the sources give at each quarter
of charge (fill of SG 1.265)::

    SoC 0 %  -9.4    25 %  -15.0    50 %  -24.0    75 %  -37.2    100 %  -59.5   °C

A circulating table that has a flat battery freeze at -23 °C is up to 14 K too cold against three
military sources and is not used. Lithium iron phosphate has no water to freeze.
"""

import numpy as np
import numpy.typing as npt

from scheduler.physics.battery.batteries import QUARTERS
from scheduler.physics.checks import within

Floats = npt.NDArray[np.float64]

FREEZES_C = (-9.4, -15.0, -24.0, -37.2, -59.5)
SOURCE = (
    "US Army TM 5-4210-230-14&P-1 Table 2; US Army Ordnance subcourse OD1002 p. 54; the warmest value is used"
)


def freezing_point_c(soc: npt.ArrayLike) -> Floats:
    """Freezing point of a lead-acid battery's electrolyte, °C, any shape, at a charge of 0 to 1.

    OutOfRange beyond.

    >>> freezing_point_c([0.0, 0.5, 1.0]).tolist()
    [-9.4, -24.0, -59.5]
    """
    soc = within("soc", soc, 0.0, 1.0, "of full", SOURCE)
    return np.asarray(np.interp(soc, QUARTERS, FREEZES_C))


def safe_soc(temp_c: npt.ArrayLike) -> Floats:
    """The least charge that stays liquid at ``temp_c``, any shape: 0 where even flat acid does,
    above 1 where no charge would (colder than full acid freezes).

    >>> round(float(safe_soc(-20.0)), 3)
    0.389
    """
    temp_c = np.asarray(temp_c, float)
    inside = np.interp(temp_c, FREEZES_C[::-1], QUARTERS[::-1])
    beyond = np.where(temp_c < FREEZES_C[-1], np.inf, inside)
    return np.where(temp_c >= FREEZES_C[0], 0.0, beyond)
