"""Air: what its moisture does on cold metal.

What happens: air holds less water the colder it is; where metal is colder than the dew point of
the air at it, water runs down it. Metal follows the air a day behind, so the danger is the warm
humid day after a cold spell, and the door opened to it.

Equations (WMO-No. 8, CIMO Guide, Annex 4.B, over liquid water, t in °C, e in hPa):
e_w = 6.112 exp(17.62 t / (243.12 + t)), -45 to 60 °C; t_d = 243.12 L / (17.62 - L), L = ln(e / 6.112).
The dew point here is over liquid water throughout, as the WMO defines it and as instruments report it.
"""

import numpy as np
import numpy.typing as npt

from scheduler.physics.checks import within
from scheduler.physics.climate import saturation_pressure_hpa
from scheduler.physics.climate.vapour import MAGNUS_HPA, MAGNUS_OFFSET_C, MAGNUS_SLOPE
from scheduler.vocabulary.constants import Constant, Standing
from scheduler.vocabulary.errors import BadInput

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

WMO_8 = "WMO-No. 8 (CIMO Guide), Annex 4.B"
COLDEST_C, WARMEST_C = -45.0, 60.0  # range of the formula over water, WMO-No. 8
METAL_LAG_HOURS = Constant(
    24.0, "h", "an engine block follows the air of an unheated building about a day behind", Standing.POLICY
)
LAG_MEMORY = 10  # time constants after which an old temperature counts for less than 0.005 %


def _air(temp_c: npt.ArrayLike, argument: str = "temp_c") -> Floats:
    return within(argument, temp_c, COLDEST_C, WARMEST_C, "°C", WMO_8)


def _humidity(rh_pct: npt.ArrayLike, argument: str = "rh_pct") -> Floats:
    rh = np.asarray(rh_pct, float)
    if np.any(~((rh > 0) & (rh <= 100))):
        raise BadInput(argument, "must be above 0 and at most 100 %")
    return rh


def saturation_hpa(temp_c: npt.ArrayLike) -> Floats:
    """Vapour pressure of saturated air over liquid water, hPa, at -45 to 60 °C, any shape."""
    return saturation_pressure_hpa(_air(temp_c))


def vapour_pressure_hpa(temp_c: npt.ArrayLike, rh_pct: npt.ArrayLike) -> Floats:
    """Vapour pressure of air, hPa; humidity is taken over liquid water, as instruments report it."""
    return saturation_hpa(temp_c) * _humidity(rh_pct) / 100


def dew_point_c(temp_c: npt.ArrayLike, rh_pct: npt.ArrayLike) -> Floats:
    """Dew point over liquid water, °C; shapes broadcast.

    >>> round(float(dew_point_c(20.0, 50.0)), 1)
    9.3
    """
    ratio = np.log(vapour_pressure_hpa(temp_c, rh_pct) / MAGNUS_HPA.value)
    return np.asarray(MAGNUS_OFFSET_C.value * ratio / (MAGNUS_SLOPE.value - ratio))


def dry_margin_k(temp_c: npt.ArrayLike, rh_pct: npt.ArrayLike, surface_c: npt.ArrayLike) -> Floats:
    """How far a surface stays above the dew point, K: 0 or less is wet, below 3 is a warning.

    >>> round(float(dry_margin_k(14.0, 85.0, 6.0)), 1)  # a mild wet day on cold metal
    -5.5
    """
    return _air(surface_c, "surface_c") - dew_point_c(temp_c, rh_pct)


def metal_c(air_c_hourly: npt.ArrayLike, lag_hours: float = METAL_LAG_HOURS.value) -> Floats:
    """Temperature of heavy metal that follows hourly air, shape (h,): first order, settled at the start.

    T_i = a T_(i-1) + (1 - a) air_i with a = exp(-1 h / lag), written as a weighted mean of the past.
    """
    air = _air(air_c_hourly, "air_c_hourly")
    if air.ndim != 1 or air.size == 0:
        raise BadInput("air_c_hourly", "must be a row of hours, one at least")
    if not lag_hours > 0:
        raise BadInput("lag_hours", "must be above zero")
    past = int(np.ceil(LAG_MEMORY * lag_hours))
    weights = np.exp(-np.arange(past) / lag_hours)
    padded = np.concatenate([np.full(past - 1, air[0]), air])
    return np.convolve(padded, weights / weights.sum(), mode="valid")


def sweating_hours(air_c_hourly: npt.ArrayLike, rh_pct_hourly: npt.ArrayLike) -> Bools:
    """Which hours heavy metal stands below the dew point of the air, shape (h,).

    ``air_c_hourly`` (°C) and ``rh_pct_hourly`` (0 to 100 %) are (h,), an hour each, in order.
    """
    return dry_margin_k(air_c_hourly, rh_pct_hourly, metal_c(air_c_hourly)) <= 0
