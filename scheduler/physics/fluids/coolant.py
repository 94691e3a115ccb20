"""Coolant: where it freezes, how to strengthen it, and how long its inhibitor lasts.

What happens: glycol lowers the freezing point down to about 60 % by volume and raises it again
beyond; standing does not change that. The rust inhibitor is used up by the calendar, in use or
standing, and that does not change the freezing point. So there are two limits, never one.

Testers and makers speak of VOLUME shares, handbooks and CoolProp's MEG of MASS shares: 50 % by
volume of ethylene glycol is 52.4 % by mass. The unit is in every name here.

Freezing point: linear between the rows of the ASHRAE table. Refill: of a system of V litres at
share c1, drain and replace with share c0 to reach c2: litres = V (c2 - c1) / (c0 - c1).
"""

import numpy as np
import numpy.typing as npt

from scheduler.physics.checks import within
from scheduler.physics.fluids.glycols import ASHRAE, GLYCOLS
from scheduler.vocabulary.constants import Constant, Standing
from scheduler.vocabulary.errors import BadInput

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

NEAT_SHARE = 1.0
OF_THE_VOLUME = "of the volume"
LEAST_INHIBITED_SHARE = Constant(
    0.30, "1", "US Army TM 5-3820-245-14&P: below 30 % there is not enough inhibitor", Standing.PUBLISHED
)
# What stands in a radiator of which nothing is known: a weak, a usual and a full-strength fill.
GOOD_PH = Constant(7.5, "1", "test strips: fresh 7.5 to 11 by technology", Standing.FROM_MEMORY)
SPENT_PH = Constant(7.0, "1", "turning acid: the inhibitor is used up", Standing.FROM_MEMORY)
UNKNOWN_SHARE = Constant(
    0.33, "1", "one part in three is a common fill", Standing.COMMON_PRACTICE, 0.20, 0.50
)


def freezing_point_c(volume_share: npt.ArrayLike, glycol: str) -> Floats:
    """Freezing point, °C, at a volume share 0..0.578 (ethylene) or 0..0.600 (propylene), any shape.

    ``glycol`` "either" (kind not known) gives the warmer of the two, "" is plain water: 0 °C.
    OutOfRange beyond the table.

    >>> round(float(freezing_point_c(0.50, "ethylene")), 1)
    -37.0
    """
    share = within("volume_share", volume_share, 0.0, table_end_share(glycol), OF_THE_VOLUME, ASHRAE)
    if glycol == "":
        return np.zeros_like(share)
    if glycol == "either":
        return np.maximum(freezing_point_c(share, "ethylene"), freezing_point_c(share, "propylene"))
    return np.interp(share, GLYCOLS[glycol].volume_share, GLYCOLS[glycol].freezing_c)


def table_end_share(glycol: str) -> float:
    """The greatest volume share for which a freezing point is given."""
    if glycol == "":
        return NEAT_SHARE
    if glycol == "either":
        return min(table_end_share("ethylene"), table_end_share("propylene"))
    return float(GLYCOLS[glycol].volume_share[-1])


def volume_share_for(freezing_c: npt.ArrayLike, glycol: str) -> Floats:
    """Volume share that freezes at ``freezing_c`` (°C, 0 down to the table's end), any shape.

    OutOfRange beyond the table.
    """
    table = GLYCOLS[glycol]
    freezing = within("freezing_c", freezing_c, table.freezing_c[-1], 0.0, "°C", ASHRAE)
    return np.interp(freezing, table.freezing_c[::-1], table.volume_share[::-1])


def drain_and_replace_litres(
    system_litres: npt.ArrayLike,
    have_share: npt.ArrayLike,
    want_share: npt.ArrayLike,
    refill_share: npt.ArrayLike = NEAT_SHARE,
) -> Floats:
    """Litres to drain and replace with coolant of ``refill_share`` to strengthen a system.

    Shares by volume, 0 to 1, have <= want <= refill; shapes broadcast. BadInput otherwise.

    >>> round(float(drain_and_replace_litres(8.0, 0.29, 0.45)), 2)
    1.8
    """
    system, have, want, refill = (
        np.asarray(x, float) for x in (system_litres, have_share, want_share, refill_share)
    )
    if np.any(~(system > 0)):
        raise BadInput("system_litres", "must be above zero")
    if np.any(~((have >= 0) & (have <= want) & (want <= refill) & (have < refill) & (refill <= 1))):
        raise BadInput("want_share", "must lie between what is in the system and what goes in")
    return np.asarray(system * (want - have) / (refill - have))


def frost_margin_k(coldest_c: npt.ArrayLike, freezing_c: npt.ArrayLike) -> Floats:
    """How far the coldest air stays above the freezing point, K; below zero it freezes; shapes broadcast."""
    return np.asarray(np.asarray(coldest_c, float) - np.asarray(freezing_c, float))


def inhibitor_too_thin(volume_share: npt.ArrayLike) -> Bools:
    """Whether a mixture (share by volume, 0 to 1, any shape) holds too little inhibitor at any age."""
    return np.asarray(np.asarray(volume_share, float) < LEAST_INHIBITED_SHARE.value)
