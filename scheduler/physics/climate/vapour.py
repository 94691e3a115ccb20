"""Water vapour: what air can hold, and what a day's air does hold.

Magnus form over water, WMO-No. 8 (Guide to Instruments and Methods of Observation), Annex 4.B::

    e_w(t) = 6.112 exp(17.62 t / (243.12 + t))      hPa, t in °C, -45 to 60 °C
"""

import numpy as np
import numpy.typing as npt

from scheduler.vocabulary.constants import Constant, Standing

Floats = npt.NDArray[np.float64]

_WMO = "WMO-No. 8, Guide to Instruments and Methods of Observation, Annex 4.B"
MAGNUS_HPA = Constant(6.112, "hPa", _WMO, Standing.PUBLISHED)
MAGNUS_SLOPE = Constant(17.62, "1", _WMO, Standing.PUBLISHED)
MAGNUS_OFFSET_C = Constant(243.12, "°C", _WMO, Standing.PUBLISHED)


def saturation_pressure_hpa(temp_c: npt.ArrayLike) -> Floats:
    """Vapour pressure of saturated air over liquid water, hPa, any shape (WMO-No. 8, Annex 4.B).

    >>> round(float(saturation_pressure_hpa(20.0)), 1)
    23.3
    """
    temp_c = np.asarray(temp_c, float)
    exponent = MAGNUS_SLOPE.value * temp_c / (MAGNUS_OFFSET_C.value + temp_c)
    return np.asarray(MAGNUS_HPA.value * np.exp(exponent))


def daily_pressure_hpa(course_c: Floats, mean_rh_pct: Floats) -> Floats:
    """The vapour pressure, steady through each day, that gives the day its mean humidity.

    ``course_c`` (d, hours) and ``mean_rh_pct`` (d,) give (d,) in hPa: the mean of
    ``100 e / e_w(t)`` over the day's course equals ``mean_rh_pct``.
    """
    return np.asarray(mean_rh_pct / (100.0 / saturation_pressure_hpa(course_c)).mean(axis=1))


def relative_humidity_pct(pressure_hpa: Floats, course_c: Floats) -> Floats:
    """Relative humidity of air at ``course_c`` (d, hours) holding ``pressure_hpa`` (d,), 0 to 100 %."""
    return np.clip(100.0 * pressure_hpa[:, None] / saturation_pressure_hpa(course_c), 0.0, 100.0)
