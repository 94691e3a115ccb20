"""Carbon monoxide in a building where an engine runs. A caution, never a permission.

What happens: an engine without a catalyst, or with a cold one, puts out some per cent of carbon
monoxide. In a closed garage it passes the limits within minutes and lingers for hours; opening a
door is not enough. Run engines outdoors or with the exhaust led outside.

    C(t)  = E/(V λ) (1 − e^(−λ t))        E: m³ of CO an hour, V: m³, λ: air changes an hour
    C(t)  = E t / V                       no ventilation at all
    t_air = ln(C0/C)/λ                    to clear after the engine stops
"""

import numpy as np
import numpy.typing as npt

from scheduler.physics.checks import within
from scheduler.vocabulary.constants import Constant, Standing
from scheduler.vocabulary.errors import BadInput

Floats = npt.NDArray[np.float64]

NIOSH = "NIOSH IDLH page for carbon monoxide, May 1994"
CEILING_PPM = Constant(200.0, "ppm", f"{NIOSH}: NIOSH ceiling", Standing.PUBLISHED)
DANGER_PPM = Constant(1200.0, "ppm", f"{NIOSH}: immediately dangerous to life or health", Standing.PUBLISHED)
SHIFT_PPM = Constant(35.0, "ppm", f"{NIOSH}: NIOSH limit, 8 to 10 h mean", Standing.PUBLISHED)
TEN_MINUTE_PPM = Constant(1500.0, "ppm", f"{NIOSH}: NRC emergency level, 10 min", Standing.PUBLISHED)
IDLE_EXHAUST_M3_H = Constant(
    5.56,
    "m³/h",
    "exhaust of 0.606 L/h of petrol, the idle of a 2.0 L engine (US DOE Fact #861)",
    Standing.COMPUTED,
    5.56,
    13.6,
)
CO_SHARE = Constant(0.04, "1", "no catalyst, or a cold one: 4 % CO at idle", Standing.POLICY, 0.005, 0.07)
GARAGE_M3 = Constant(60.0, "m³", "a double garage", Standing.POLICY)
_PPM = 1e6


def emission_m3_per_h(exhaust_m3_per_h: npt.ArrayLike, co_share: npt.ArrayLike) -> Floats:
    """m³ of carbon monoxide an hour from the exhaust flow and its share of CO."""
    share = within("co_share", co_share, 0.0, 0.15, "of the exhaust", "rich petrol engines")
    return np.asarray(within("exhaust_m3_per_h", exhaust_m3_per_h, 0.0, 1e4, "m³/h", "an idle") * share)


def concentration_ppm(
    emission_m3_h: npt.ArrayLike,
    volume_m3: npt.ArrayLike,
    air_changes_per_h: npt.ArrayLike,
    minutes: npt.ArrayLike,
) -> Floats:
    """ppm of carbon monoxide after running for ``minutes`` in well-mixed air, any shape."""
    hours = within("minutes", minutes, 0.0, 1e5, "min", "time") / 60.0
    changes = within("air_changes_per_h", air_changes_per_h, 0.0, 1e4, "1/h", "ventilation")
    fed = np.asarray(emission_m3_h, float) / _volume(volume_m3)
    held = hours * _one_minus_exp_over(changes * hours)
    return np.asarray(fed * held * _PPM)


def seconds_until_ppm(
    limit_ppm: float, emission_m3_h: npt.ArrayLike, volume_m3: npt.ArrayLike, air_changes_per_h: npt.ArrayLike
) -> Floats:
    """Seconds of running until ``limit_ppm``; infinite where ventilation holds it below for ever."""
    changes = within("air_changes_per_h", air_changes_per_h, 0.0, 1e4, "1/h", "ventilation")
    emission = within("emission_m3_h", emission_m3_h, 1e-12, 1e4, "m³/h", "an engine that runs")
    bare_hours = limit_ppm / _PPM * _volume(volume_m3) / emission
    reach = changes * bare_hours
    with np.errstate(divide="ignore", invalid="ignore"):
        slowed = np.where(reach > 0, -np.log1p(-reach) / np.where(reach > 0, reach, 1.0), 1.0)
    return np.where(reach < 1.0, bare_hours * slowed * 3600.0, np.inf)


def hours_to_clear(from_ppm: float, to_ppm: float, air_changes_per_h: npt.ArrayLike) -> Floats:
    """Hours until the air is down to ``to_ppm`` after the engine stops."""
    if not from_ppm >= to_ppm > 0:
        raise BadInput("to_ppm", "must be above zero and no more than from_ppm")
    changes = within("air_changes_per_h", air_changes_per_h, 1e-9, 1e4, "1/h", "ventilation")
    return np.asarray(np.log(from_ppm / to_ppm) / changes)


def _volume(volume_m3: npt.ArrayLike) -> Floats:
    return within("volume_m3", volume_m3, 1.0, 1e7, "m³", "a room that holds a car")


def _one_minus_exp_over(x: Floats) -> Floats:
    """(1 − e^(−x))/x, 1 at x = 0."""
    safe = np.where(x == 0, 1.0, x)
    return np.where(x == 0, 1.0, -np.expm1(-safe) / safe)
