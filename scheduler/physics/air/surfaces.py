"""Air: what its moisture does on cold metal.

What happens: air holds less water the colder it is; where metal is colder than the dew point of
the air at it, water runs down it. Metal follows the air a day behind, so the danger is the warm
humid day after a cold spell, and the door opened to it.

Equations (WMO-No. 8, CIMO Guide, Annex 4.B, over liquid water, t in °C, e in hPa):
e_w = 6.112 exp(17.62 t / (243.12 + t)), -45 to 60 °C; t_d = 243.12 L / (17.62 - L), L = ln(e / 6.112).
Over ice: 22.46 and 272.62. The dew point here is over liquid water throughout, as the WMO defines
it; the frost point is given apart and lies above it below 0 °C.
Absolute humidity = 216.679 e / T in g/m3, T in K.
"""

import numpy as np
import numpy.typing as npt

from scheduler.physics.checks import within
from scheduler.physics.climate import saturation_pressure_hpa
from scheduler.physics.climate.vapour import MAGNUS_HPA, MAGNUS_OFFSET_C, MAGNUS_SLOPE
from scheduler.physics.temperatures import kelvin
from scheduler.vocabulary.constants import Constant, Standing
from scheduler.vocabulary.errors import BadInput

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

WMO_8 = "WMO-No. 8 (CIMO Guide), Annex 4.B"
ICE_FACTOR = Constant(22.46, "1", WMO_8, Standing.FROM_MEMORY)
ICE_OFFSET_C = Constant(272.62, "°C", WMO_8, Standing.FROM_MEMORY)
COLDEST_C, WARMEST_C = -45.0, 60.0  # range of the formula over water, WMO-No. 8
VAPOUR_G_K_PER_M3_HPA = Constant(
    216.679, "g K/(m3 hPa)", "molar mass of water over the gas constant", Standing.COMPUTED
)
METAL_LAG_HOURS = Constant(
    24.0, "h", "an engine block follows the air of an unheated building about a day behind", Standing.POLICY
)
LAG_MEMORY = 10  # time constants after which an old temperature counts for less than 0.005 %
NEAR_WET_K = Constant(3.0, "K", "usual margin in coating inspection, ISO 8502-4", Standing.FROM_MEMORY)
VENTILATE_GAIN_G_M3 = Constant(0.5, "g/m3", "least gain worth opening for", Standing.POLICY)


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


def saturation_over_ice_hpa(temp_c: npt.ArrayLike) -> Floats:
    """The same over ice, -45 to 0 °C."""
    temp = within("temp_c", temp_c, COLDEST_C, 0.0, "°C", WMO_8)
    return np.asarray(MAGNUS_HPA.value * np.exp(ICE_FACTOR.value * temp / (ICE_OFFSET_C.value + temp)))


def vapour_pressure_hpa(temp_c: npt.ArrayLike, rh_pct: npt.ArrayLike) -> Floats:
    """Vapour pressure of air, hPa; humidity is taken over liquid water, as instruments report it."""
    return saturation_hpa(temp_c) * _humidity(rh_pct) / 100


def dew_point_c(temp_c: npt.ArrayLike, rh_pct: npt.ArrayLike) -> Floats:
    """Dew point over liquid water, °C; shapes broadcast."""
    ratio = np.log(vapour_pressure_hpa(temp_c, rh_pct) / MAGNUS_HPA.value)
    return np.asarray(MAGNUS_OFFSET_C.value * ratio / (MAGNUS_SLOPE.value - ratio))


def frost_point_c(temp_c: npt.ArrayLike, rh_pct: npt.ArrayLike) -> Floats:
    """Frost point, °C: where rime forms; equal to the dew point at 0 °C, warmer than it below."""
    ratio = np.log(vapour_pressure_hpa(temp_c, rh_pct) / MAGNUS_HPA.value)
    if np.any(ratio > 0):
        raise BadInput("rh_pct", "this air is too moist to form frost: its dew point is above 0 °C")
    return np.asarray(ICE_OFFSET_C.value * ratio / (ICE_FACTOR.value - ratio))


def absolute_humidity_g_m3(temp_c: npt.ArrayLike, rh_pct: npt.ArrayLike) -> Floats:
    """Grams of water in a cubic metre of air; shapes broadcast."""
    return VAPOUR_G_K_PER_M3_HPA.value * vapour_pressure_hpa(temp_c, rh_pct) / kelvin(temp_c)


def surface_rh_pct(temp_c: npt.ArrayLike, rh_pct: npt.ArrayLike, surface_c: npt.ArrayLike) -> Floats:
    """Relative humidity of the same air at a surface; 100 or more: it is wet. Also air warmed up."""
    return 100 * vapour_pressure_hpa(temp_c, rh_pct) / saturation_hpa(_air(surface_c, "surface_c"))


def dry_margin_k(temp_c: npt.ArrayLike, rh_pct: npt.ArrayLike, surface_c: npt.ArrayLike) -> Floats:
    """How far a surface stays above the dew point, K: 0 or less is wet, below 3 is a warning."""
    return _air(surface_c, "surface_c") - dew_point_c(temp_c, rh_pct)


def water_to_remove_g(
    volume_m3: npt.ArrayLike, temp_c: npt.ArrayLike, from_rh_pct: npt.ArrayLike, to_rh_pct: npt.ArrayLike
) -> Floats:
    """Grams of vapour to take out of a closed room to bring its air down to a humidity."""
    volume = np.asarray(volume_m3, float)
    if np.any(~(volume > 0)):
        raise BadInput("volume_m3", "must be above zero")
    before, after = (absolute_humidity_g_m3(temp_c, rh) for rh in (from_rh_pct, to_rh_pct))
    return volume * (before - after)


def ventilating_dries(
    outside_c: npt.ArrayLike,
    outside_rh_pct: npt.ArrayLike,
    inside_c: npt.ArrayLike,
    inside_rh_pct: npt.ArrayLike,
    coldest_metal_c: npt.ArrayLike,
) -> Bools:
    """Whether to open up: outside air must hold less water and not run down the coldest metal."""
    outside = absolute_humidity_g_m3(outside_c, outside_rh_pct)
    inside = absolute_humidity_g_m3(inside_c, inside_rh_pct)
    dries = outside < inside - VENTILATE_GAIN_G_M3.value
    return dries & (dry_margin_k(outside_c, outside_rh_pct, coldest_metal_c) > 0)


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
    """Which hours heavy metal stands below the dew point of the air, shape (h,)."""
    return dry_margin_k(air_c_hourly, rh_pct_hourly, metal_c(air_c_hourly)) <= 0
