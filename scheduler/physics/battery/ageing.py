"""A battery wears out on the shelf: grids corrode, and hotter is sooner.

What happens: positive grids corrode and paste sheds, so that an old battery holds less than its
label says. A sealed lead-acid battery's life halves for each 8 K: 10 years at 25 °C, 5 at 33, two
and a half at 41 (BU-806a). It is worn out at 80 % of its rating (TM 5-684 para 14-29).

Equations::

    wear(T) = 2^((T - 25)/8)                days a day; T no colder than 20 °C: nothing is known below
    health  = 1 - 0.2 · age / life          no less than a half: past that it is scrap
"""

import numpy as np
import numpy.typing as npt

from scheduler.physics.battery.discharge import REFERENCE_C, doubling_factor
from scheduler.vocabulary.constants import Constant, Standing
from scheduler.vocabulary.errors import BadInput

Floats = npt.NDArray[np.float64]

HALVING_K = Constant(
    8.0, "K", "BU-806a: 10 years at 25 °C, 5 at 33, 30 months at 41", Standing.PUBLISHED, 8.0, 10.0
)
# How many times faster an old battery loses charge within itself than a new one, at these ages in years:
# antimony leaves the positive grid for the negative plate; calcium hardly changes (makers' papers give the
# direction; the figures are policy, between makers' 1.5 and 3 for antimony).
AGES = (0.0, 3.0, 5.0, 8.0)
ANTIMONY_FASTER, HYBRID_FASTER = (1.0, 1.55, 2.1, 3.0), (1.0, 1.4, 1.8, 2.6)
CALCIUM_FASTER, GEL_FASTER = (1.0, 1.2, 1.4, 1.8), (1.0, 1.12, 1.28, 1.6)
NOT_FASTER = (1.0, 1.0, 1.0, 1.0)  # lithium
COLDEST_C = Constant(20.0, "°C", "the halving rule is not carried below 20 °C", Standing.POLICY)
WORN_OUT = Constant(
    0.80, "1", "TM 5-684 / NAVFAC MO-200 para 14-29: replace below 80 % of rating", Standing.PUBLISHED
)
LEAST_HEALTH = Constant(0.50, "1", "past this a battery is scrap; the straight line stops", Standing.POLICY)


def wear_rate(temp_c: Floats) -> Floats:
    """Days of wear at 25 °C in one day at ``temp_c``, any shape: to be averaged over a climate."""
    warm = np.maximum(temp_c, COLDEST_C.value)
    return doubling_factor(warm, HALVING_K.value, REFERENCE_C.value)


def leaks_faster(years: npt.ArrayLike, faster: npt.ArrayLike) -> Floats:
    """How many times the self-discharge of a new battery one of so many ``years`` (n,) has.

    ``faster`` (n, ages): its kind's figures at ``AGES``. BadInput: years below nought.

    >>> leaks_faster([0.0, 4.0, 20.0], [ANTIMONY_FASTER] * 3).round(2).tolist()
    [1.0, 1.83, 3.0]
    """
    age, table = np.asarray(years, float), np.asarray(faster, float)
    if (age < 0.0).any():
        raise BadInput("years", "is negative: made after the day asked about")
    ages = np.array(AGES)
    within = np.clip(age, ages[0], ages[-1])
    segment = np.clip(np.searchsorted(ages, within, side="right") - 1, 0, ages.size - 2)
    row = np.arange(age.size)
    low, high = table[row, segment], table[row, segment + 1]
    return np.asarray(low + (high - low) * (within - ages[segment]) / np.diff(ages)[segment])


def health(age_at_25c_years: npt.ArrayLike, life_at_25c_years: npt.ArrayLike) -> Floats:
    """Share of rated capacity left, 0.5 to 1, at an age reckoned at 25 °C; shapes broadcast.

    Both in years: the age 0 or more, the life above 0; BadInput otherwise.

    >>> round(float(health(3.0, 4.5)), 3)
    0.867
    """
    age, life = np.asarray(age_at_25c_years, float), np.asarray(life_at_25c_years, float)
    if (age < 0.0).any():
        raise BadInput("age_at_25c_years", "is negative: made after the day asked about")
    if not (life > 0.0).all():
        raise BadInput("life_at_25c_years", "must be above zero")
    return np.asarray(np.maximum(1.0 - (1.0 - WORN_OUT.value) * age / life, LEAST_HEALTH.value))
