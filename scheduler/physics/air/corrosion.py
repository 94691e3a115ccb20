"""Corrosion: how fast bare steel rusts in the open, and where that says nothing.

What happens: outdoors the loss of steel in its first year follows temperature, humidity and what
sea and smoke leave on it. The formula is fitted to open exposure sites only: it holds for no shed,
and is refused for every place with a roof.

Equation (ISO 9223:2012, carbon steel, micrometres in the first year):
r = 1.77 Pd^0.52 exp(0.020 RH + f) + 0.102 Sd^0.62 exp(0.033 RH + 0.040 T),
f = 0.150 (T - 10) up to 10 °C, -0.054 (T - 10) above; T °C and RH % yearly means, Pd sulphur
dioxide and Sd chloride deposition in mg/(m2 day).
"""

import numpy as np
import numpy.typing as npt

from scheduler.physics.checks import within
from scheduler.vocabulary.constants import Constant, Standing
from scheduler.vocabulary.errors import BadInput

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

ISO_9223 = "ISO 9223:2012"
# Range of the sites behind the formula: low, high, unit (from memory, unverified).
RANGE = {
    "mean_c": (-17.0, 29.0, "°C"),
    "rh_pct": (34.0, 93.0, "%"),
    "sulphur_mg_m2_day": (0.7, 150.0, "mg/(m2 day)"),
    "chloride_mg_m2_day": (0.4, 760.0, "mg/(m2 day)"),
}
TURN_C = 10.0  # where the temperature term changes sign
WARMING, COOLING = 0.150, -0.054  # per K below and above it
SULPHUR_FACTOR, SULPHUR_POWER, SULPHUR_PER_RH = 1.77, 0.52, 0.020
SALT_FACTOR, SALT_POWER, SALT_PER_RH, SALT_PER_K = 0.102, 0.62, 0.033, 0.040
CATEGORIES = ("C1", "C2", "C3", "C4", "C5", "CX")
CATEGORY_UM = np.array([1.3, 25.0, 50.0, 80.0, 200.0])  # upper bounds of C1 to C5, carbon steel
UNCERTAINTY = Constant(
    1.0, "1", f"{ISO_9223}: a third too high to half too low", Standing.FROM_MEMORY, 0.67, 1.5
)


def _in_range(argument: str, value: npt.ArrayLike, clean_air_is_zero: bool = False) -> Floats:
    low, high, unit = RANGE[argument]
    value = np.asarray(value, float)
    asked = np.where(clean_air_is_zero & (value == 0), low, value)
    within(argument, asked, low, high, unit, ISO_9223)
    return value


def first_year_steel_um(
    mean_c: npt.ArrayLike,
    rh_pct: npt.ArrayLike,
    sulphur_mg_m2_day: npt.ArrayLike,
    chloride_mg_m2_day: npt.ArrayLike,
    shelter: str,
) -> Floats:
    """Loss of bare carbon steel in its first year in the open, µm; zero deposition is clean air."""
    if shelter != "open":
        raise BadInput("shelter", f"{shelter}: the formula holds in the open only, never under a roof")
    temp, rh = _in_range("mean_c", mean_c), _in_range("rh_pct", rh_pct)
    sulphur = _in_range("sulphur_mg_m2_day", sulphur_mg_m2_day, clean_air_is_zero=True)
    chloride = _in_range("chloride_mg_m2_day", chloride_mg_m2_day, clean_air_is_zero=True)
    bend = np.where(temp <= TURN_C, WARMING, COOLING) * (temp - TURN_C)
    by_sulphur = SULPHUR_FACTOR * sulphur**SULPHUR_POWER * np.exp(SULPHUR_PER_RH * rh + bend)
    by_salt = SALT_FACTOR * chloride**SALT_POWER * np.exp(SALT_PER_RH * rh + SALT_PER_K * temp)
    return np.asarray(by_sulphur + by_salt)


def category(first_year_um: npt.ArrayLike) -> Ints:
    """Position in ``CATEGORIES`` for a first-year loss of steel in µm, any shape."""
    loss = np.asarray(first_year_um, float)
    if np.any(~(loss >= 0)):
        raise BadInput("first_year_um", "must be zero or above")
    return np.asarray(np.digitize(loss, CATEGORY_UM, right=True))
