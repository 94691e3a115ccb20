"""A battery left low grows hard: lead sulphate recrystallises and no longer takes charge.

What happens: discharge makes fine lead sulphate; left for weeks it grows into coarse crystals that charging
hardly dissolves. The lower, the warmer and the longer, the worse: habitual over-discharge, undercharge and
long standing discharged are the causes (US Army TM 10-6140-200-14 para 1-10). A long full charge brings a
part back; the rest is lost.

Equations, s the state of charge, T the battery's temperature::

    H = integral of w(s) g(T) dt / 7        weeks as hard as flat at 25 °C
    w = ((0.8 - s) / 0.8)²                  0 from four fifths up, 1 from flat down
    g = 2^((T - 25) / 10)
    lasting loss L = 1 - exp(-H / H0)       at most 0.95, as the next
    loss until it is charged in full: L_r + 2.5 (L - L_r); L_r as of the last full charge

No source gives a rate. H0 is policy, held against single cases: left below 11.6 V a starter battery came back
to 60 to 80 % of its capacity after days on a charger (a car maker's service helpline, 1992); an aircraft's
sealed one, two years aside, was at 50 % and came back to 86 (an owner's test of one battery); a maker sees no
trouble within 30 days. The onset at four fifths is a supplier's advice (second-hand).
"""

import numpy as np
import numpy.typing as npt

from scheduler.physics.battery.discharge import REFERENCE_C, doubling_factor
from scheduler.vocabulary.constants import Constant, Standing
from scheduler.vocabulary.errors import BadInput

Floats = npt.NDArray[np.float64]

SOURCE = (
    "US Army TM 10-6140-200-14 para 1-10 (causes); supplier's advice and a trailer maker's handbook (levels)"
)
ONSET_SOC = Constant(0.80, "1", "supplier's advice, second-hand", Standing.COMMON_PRACTICE)
DOUBLING_K = Constant(10.0, "K", "as self-discharge", Standing.POLICY)
COMES_BACK = Constant(
    2.5,
    "1",
    "times the lasting loss; in one sealed battery 50 points were lost, 14 stayed",
    Standing.POLICY,
    2.0,
    3.6,
)
MOST_LOST = 0.95  # policy: something is always left
DAYS_PER_WEEK = 7.0
_OWN = "our own estimate from single cases, see scheduler.physics.battery.sulphation"
FLOODED_WEEKS = Constant(18.0, "weeks", _OWN, Standing.POLICY, 8.0, 40.0)
GEL_WEEKS = Constant(36.0, "weeks", f"{_OWN}: twice flooded", Standing.POLICY, 16.0, 80.0)
AGM_WEEKS = Constant(54.0, "weeks", f"{_OWN}: three times flooded", Standing.POLICY, 24.0, 120.0)
NO_SULPHATE = Constant(np.inf, "weeks", "lithium cells hold no sulphate", Standing.COMMON_PRACTICE)


def hardening_speed(temp_c: Floats) -> Floats:
    """Days at 25 °C in one day at ``temp_c``, any shape: to be averaged over a climate."""
    return doubling_factor(temp_c, DOUBLING_K.value, REFERENCE_C.value)


def lasting_loss(weeks: npt.ArrayLike, life_weeks: npt.ArrayLike) -> Floats:
    """Share of capacity lost for good, 0 to 0.95, after ``weeks`` (H, 0 or more); shapes broadcast.

    ``life_weeks``: H0 of the kind, above nought, infinite for lithium. BadInput otherwise.

    >>> lasting_loss([0.0, 9.0, 52.0], 18.0).round(2).tolist()
    [0.0, 0.39, 0.94]
    """
    weeks, life = np.asarray(weeks, float), np.asarray(life_weeks, float)
    if (weeks < 0.0).any():
        raise BadInput("weeks", "is negative")
    if not (life > 0.0).all():
        raise BadInput("life_weeks", "must be above zero")
    return np.asarray(np.minimum(-np.expm1(-weeks / life), MOST_LOST))


def standing_loss(lasting: npt.ArrayLike, recovered: npt.ArrayLike) -> Floats:
    """Share of capacity missing until the next full charge, 0 to 0.95; shapes broadcast.

    ``lasting``: what is lost for good by now; ``recovered``: what was at the last full charge, no more.

    >>> standing_loss([0.2, 0.2], [0.0, 0.2]).round(2).tolist()
    [0.5, 0.2]
    """
    lasting, recovered = np.asarray(lasting, float), np.asarray(recovered, float)
    grown = recovered + COMES_BACK.value * (lasting - recovered)
    return np.asarray(np.minimum(grown, MOST_LOST))
