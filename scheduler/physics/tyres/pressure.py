"""Tyre pressure and set: what standing does to a tyre that carries a car.

What happens: air passes through the rubber, faster when warm, so the gauge pressure falls a few
per cent a month; a cold day lowers the reading without any loss. The patch under load takes a
set, sooner in a soft tyre; a tyre off the ground takes none.

Equations: p2 = (p1 + pa)(T2 / T1) - pa, gas at constant volume, absolute temperature and pressure;
p(t) = p0 exp(-k D), with k = -ln(1 - r) a month for a leak of r a month at 20 °C, and D the
standing time in days at 20 °C: D = ∫ q^((T - 20) / 10) dt, T the air in °C, q the factor for 10 K.
"""

import numpy as np
import numpy.typing as npt

from scheduler.physics.temperatures import kelvin
from scheduler.physics.tyres.tyres import LEAK_PER_10_K, LEAK_REFERENCE_C
from scheduler.vocabulary.errors import BadInput
from scheduler.vocabulary.units import DAYS_PER_MONTH, STANDARD_ATMOSPHERE_KPA

Floats = npt.NDArray[np.float64]

LEAK_STEP_K = 10.0  # the temperature step of LEAK_PER_10_K


def gauge_at_kpa(
    gauge_kpa: npt.ArrayLike,
    read_at_c: npt.ArrayLike,
    wanted_at_c: npt.ArrayLike,
    atmosphere_kpa: float = STANDARD_ATMOSPHERE_KPA,
) -> Floats:
    """The gauge pressure that the same air would show at another temperature; shapes broadcast.

    BadInput: a pressure below nought, a temperature (°C) not above absolute zero.

    >>> round(float(gauge_at_kpa(220.0, 20.0, 0.0)), 1)  # the same air on a frosty day
    198.1
    """
    read, wanted = kelvin(read_at_c), kelvin(wanted_at_c)
    if np.any(~(read > 0)):
        raise BadInput("read_at_c", "must be a temperature above absolute zero")
    if np.any(~(wanted > 0)):
        raise BadInput("wanted_at_c", "must be a temperature above absolute zero")
    if np.any(~(np.asarray(gauge_kpa, float) >= 0)):
        raise BadInput("gauge_kpa", "must be zero or above")
    return np.asarray((np.asarray(gauge_kpa, float) + atmosphere_kpa) * wanted / read - atmosphere_kpa)


def leak_per_day(share_per_month: npt.ArrayLike) -> Floats:
    """k, the leak per day at 20 °C, from the share lost in a month at 20 °C (0 to below 1).

    ``share_per_month`` any shape; BadInput beyond.
    """
    share = np.asarray(share_per_month, float)
    if np.any(~((share >= 0) & (share < 1))):
        raise BadInput("share_per_month", "must lie in 0 to below 1")
    return np.asarray(-np.log1p(-share) / DAYS_PER_MONTH)


def leak_speed(air_c: npt.ArrayLike, per_10_k: float = LEAK_PER_10_K.value) -> Floats:
    """How much faster than at 20 °C air is lost at ``air_c``, any shape: q^((T - 20) / 10).

    BadInput: a temperature not above absolute zero.
    """
    air = np.asarray(air_c, float)
    if np.any(~(kelvin(air) > 0)):
        raise BadInput("air_c", "must be a temperature above absolute zero")
    return np.asarray(per_10_k ** ((air - LEAK_REFERENCE_C.value) / LEAK_STEP_K))


def pressure_after_kpa(start_kpa: npt.ArrayLike, leak: npt.ArrayLike, days_at_20: npt.ArrayLike) -> Floats:
    """Gauge pressure at 20 °C after so many days' worth of leak at 20 °C; shapes broadcast.

    ``leak`` a day, from ``leak_per_day``; BadInput where ``days_at_20`` is below nought.
    """
    if np.any(np.asarray(days_at_20, float) < 0):
        raise BadInput("days_at_20", "must be zero or above")
    lost = np.asarray(leak, float) * np.asarray(days_at_20, float)
    return np.asarray(np.asarray(start_kpa, float) * np.exp(-lost))


def days_to_fall_to(start_kpa: npt.ArrayLike, limit_kpa: npt.ArrayLike, leak: npt.ArrayLike) -> Floats:
    """Days at 20 °C until the gauge pressure is down to the limit; 0 if it is there already.

    Gauge pressures above 0 kPa; ``leak`` a day, from ``leak_per_day``; shapes broadcast.

    >>> round(float(days_to_fall_to(220.0, 180.0, leak_per_day(0.03))))
    201
    """
    ratio = np.asarray(start_kpa, float) / np.asarray(limit_kpa, float)
    with np.errstate(divide="ignore"):
        return np.asarray(np.log(np.maximum(ratio, 1.0)) / np.asarray(leak, float))


def standing_days_allowed(
    stand_days: npt.ArrayLike, pressure_kpa: npt.ArrayLike, placard_kpa: npt.ArrayLike
) -> Floats:
    """Days on one patch before moving: the published interval, shortened as pressure falls.

    A tyre flattens in proportion to load over pressure, so the interval is taken in proportion to
    pressure over placard, never above the published one (policy). NaN pressure: at placard.
    Gauge kPa, shapes broadcast; BadInput: a pressure below nought.
    """
    share = np.asarray(pressure_kpa, float) / np.asarray(placard_kpa, float)
    if np.any(share < 0):
        raise BadInput("pressure_kpa", "must be zero or above")
    share = np.clip(np.where(np.isnan(share), 1.0, share), 0.0, 1.0)
    return np.asarray(np.asarray(stand_days, float) * share)


def set_share(standing_days: npt.ArrayLike, allowed_days: npt.ArrayLike, on_stands: npt.ArrayLike) -> Floats:
    """How much of the allowed standing on one patch is used up; 1: move it; on stands 0.

    Days, and ``on_stands`` as flags; shapes broadcast. BadInput: days of standing below nought or NaN.
    """
    days = np.asarray(standing_days, float)
    if np.any(~(days >= 0)):
        raise BadInput("standing_days", "must be zero or above")
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        used = np.where(days > 0, days / np.asarray(allowed_days, float), 0.0)
    return np.where(np.asarray(on_stands, bool), 0.0, used)
