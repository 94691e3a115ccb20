"""Carbon monoxide in a building where an engine runs. A caution, never a permission.

What happens: an engine without a catalyst, or with a cold one, puts out some per cent of carbon
monoxide. In a closed garage it passes the limits within minutes and lingers for hours; opening a
door is not enough. Run engines outdoors or with the exhaust led outside.

    C(t) = E/(V λ) (1 − e^(−λ t))        E: m³ of CO an hour, V: m³, λ: air changes an hour
    C(t) = E t / V                       no ventilation at all
"""

import numpy as np
import numpy.typing as npt

from scheduler.physics.checks import within
from scheduler.vocabulary.constants import Constant, Standing

Floats = npt.NDArray[np.float64]

NIOSH = "NIOSH IDLH page for carbon monoxide, May 1994"
CEILING_PPM = Constant(200.0, "ppm", f"{NIOSH}: NIOSH ceiling", Standing.PUBLISHED)
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
    """m³ of carbon monoxide an hour from the exhaust flow and its share of CO; shapes broadcast.

    OutOfRange: a flow beyond 0 to 10,000 m³/h, a share beyond 0 to 0.15.
    """
    share = within("co_share", co_share, 0.0, 0.15, "of the exhaust", "rich petrol engines")
    return np.asarray(within("exhaust_m3_per_h", exhaust_m3_per_h, 0.0, 1e4, "m³/h", "an idle") * share)


def seconds_until_ppm(
    limit_ppm: float, emission_m3_h: npt.ArrayLike, volume_m3: npt.ArrayLike, air_changes_per_h: npt.ArrayLike
) -> Floats:
    """Seconds of running until ``limit_ppm``; infinite where ventilation holds it below for ever.

    ``air_changes_per_h`` 0 to 10,000, ``emission_m3_h`` above 0, ``volume_m3`` of the room; shapes broadcast.
    OutOfRange beyond.

    >>> round(float(seconds_until_ppm(200.0, emission_m3_per_h(5.56, 0.04), 60.0, 0.0)))
    194
    """
    changes = within("air_changes_per_h", air_changes_per_h, 0.0, 1e4, "1/h", "ventilation")
    emission = within("emission_m3_h", emission_m3_h, 1e-12, 1e4, "m³/h", "an engine that runs")
    bare_hours = limit_ppm / _PPM * _volume(volume_m3) / emission
    reach = changes * bare_hours
    with np.errstate(divide="ignore", invalid="ignore"):
        slowed = np.where(reach > 0, -np.log1p(-reach) / np.where(reach > 0, reach, 1.0), 1.0)
    return np.where(reach < 1.0, bare_hours * slowed * 3600.0, np.inf)


def _volume(volume_m3: npt.ArrayLike) -> Floats:
    return within("volume_m3", volume_m3, 1.0, 1e7, "m³", "a room that holds a car")
