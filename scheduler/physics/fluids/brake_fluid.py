"""Brake fluid: how water lowers its boiling point, and when it is to be replaced.

What happens: glycol fluid dissolves water from the air through hoses and reservoir. A little water
lowers the boiling point steeply, more water adds less; vapour in a hot caliper is a pedal that
goes to the floor. The road-research survey of 1000 cars found more than half above 3 % water, but
no firm relation of water to age: so age here is a rule for replacing, never a forecast of water.
Silicone fluid dissolves no water: it lies free at the low points and has to be drawn off there.

Equation (an estimate, fitted, not published): T(w) = T_dry - A w / (1 + w), w in % by mass, with
A = (T_dry - T_wet) (1 + w_wet) / w_wet, so that the grade's dry and wet limits are both met; with
T_dry = 250 °C and A = 140 K it meets the three points of TRRL Report LR 903.
"""

import numpy as np
import numpy.typing as npt

from scheduler.physics.checks import within
from scheduler.physics.fluids.fluids import FMVSS_116
from scheduler.vocabulary.constants import Constant, Standing
from scheduler.vocabulary.errors import BadInput

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

LR_903 = "TRRL Report LR 903, J. Keen, Vapour lock in car braking systems, 1979"

WET_TEST_WATER_PCT = Constant(
    3.7, "%", f"{FMVSS_116}, S6.2: water in the referee fluid, by weight", Standing.PUBLISHED, 3.65, 3.75
)
WATER_END_PCT = Constant(
    8.0,
    "%",
    "the highest share repeated in the trade; beyond it no estimate is given",
    Standing.COMMON_PRACTICE,
)
REPLACE_AT_WATER_PCT = Constant(
    3.0, "%", f"{LR_903}: most of the fall in boiling point has happened by then", Standing.COMMON_PRACTICE
)
GOOD_WATER_PCT = Constant(
    2.0, "%", "a refractometer maker's chart: under 2 % good, 2 to 3 borderline", Standing.PUBLISHED
)
REPLACE_AT_COPPER_PPM = Constant(
    200.0,
    "ppm",
    "Automotive Maintenance & Repair Association, uniform inspection guideline, May 2005",
    Standing.PUBLISHED,
)
REPLACE_MONTHS = Constant(24.0, "months", "two years, in use or standing", Standing.COMMON_PRACTICE)
LITTLE_GAIN_MONTHS = Constant(
    36.0, "months", f"{LR_903}: changing more often than every 3 years gains little", Standing.PUBLISHED
)


def depression_k(dry_boil_c: npt.ArrayLike, wet_boil_c: npt.ArrayLike) -> Floats:
    """A, the fall in boiling point in K that endless water would bring; from a grade's two limits.

    Shapes broadcast. BadInput: a wet limit above the dry one.
    """
    dry, wet = np.asarray(dry_boil_c, float), np.asarray(wet_boil_c, float)
    if np.any(wet > dry):
        raise BadInput("wet_boil_c", "is above the dry boiling point")
    return np.asarray((dry - wet) * (1 + WET_TEST_WATER_PCT.value) / WET_TEST_WATER_PCT.value)


def boiling_point_c(water_pct: npt.ArrayLike, dry_boil_c: npt.ArrayLike, depression: npt.ArrayLike) -> Floats:
    """Estimated boiling point, °C, at a measured water share (% by mass, 0 to 8); shapes broadcast.

    ``depression``: K, from ``depression_k``. OutOfRange: more water.

    >>> round(float(boiling_point_c(3.0, 250.0, 140.0)))
    145
    """
    water = within("water_pct", water_pct, 0.0, WATER_END_PCT.value, "%", WATER_END_PCT.source)
    return np.asarray(np.asarray(dry_boil_c, float) - np.asarray(depression, float) * water / (1 + water))


def water_by_boiling_pct(
    boils_c: npt.ArrayLike, dry_boil_c: npt.ArrayLike, depression: npt.ArrayLike
) -> Floats:
    """Water share, % by mass, 0 to 8, at which a fluid boils at ``boils_c`` (°C); shapes broadcast.

    The inverse of ``boiling_point_c`` (``depression`` in K, as there), where that is valid: a fluid better
    than its grade asks has none.

    >>> round(float(water_by_boiling_pct(145.0, 250.0, 140.0)), 2)
    3.0
    """
    fall = np.asarray(dry_boil_c, float) - np.asarray(boils_c, float)
    room = np.asarray(depression, float) - fall  # none left: more water than the curve is valid for
    water = np.divide(fall, room, out=np.full(np.broadcast(fall, room).shape, np.inf), where=room > 0.0)
    return np.asarray(np.clip(water, 0.0, WATER_END_PCT.value))


def must_replace(
    water_pct: npt.ArrayLike,
    takes_water: npt.ArrayLike,
    copper_ppm: npt.ArrayLike = np.nan,
    water_limit_pct: float = REPLACE_AT_WATER_PCT.value,
) -> Bools:
    """Whether a measurement alone condemns the fluid; NaN: not measured. Water says nothing of silicone.

    ``takes_water``: glycol fluid, which dissolves it; water in % by mass; shapes broadcast.

    >>> must_replace([1.0, 3.5], [True, True]).tolist()
    [False, True]
    """
    wet = (np.asarray(water_pct, float) >= water_limit_pct) & np.asarray(takes_water, bool)
    return np.asarray(wet | (np.asarray(copper_ppm, float) >= REPLACE_AT_COPPER_PPM.value))
