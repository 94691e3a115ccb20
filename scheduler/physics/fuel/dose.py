"""Stabiliser: how much to pour in, and how long until treated fuel reaches the jets.

What happens: an antioxidant added to fresh fuel slows gum. It must be mixed in (pour it before
filling) and drawn through lines, filter and bowls, or the fuel that stands there ages untreated.

    dose    = litres · 1000 / ratio           or litres · mL per litre, as the label says
    t_draw  = (V_line + V_mixed · ln(1/ε)) / q

The line empties as a plug; filter and bowls mix, so that share ε of old fuel is left. The ratio
comes from the label of the can in hand; there is no default.
"""

import numpy as np
import numpy.typing as npt

from scheduler.physics.checks import within
from scheduler.vocabulary.constants import Constant, Standing

Floats = npt.NDArray[np.float64]

LINE_ML = Constant(85.0, "mL", "fuel line from tank to engine", Standing.POLICY, 50.0, 150.0)
MIXED_ML = Constant(200.0, "mL", "filter and float bowls", Standing.POLICY, 100.0, 300.0)
OLD_FUEL_LEFT = Constant(0.05, "1", "drawn through when 95 % is treated fuel", Standing.POLICY)
IDLE_ML_PER_MIN = Constant(
    10.09,
    "mL/min",
    "US DOE Fact #861, 23 Feb 2015: 2.0 L petrol engine idles on 0.16 US gal/h",
    Standing.PUBLISHED,
    10.09,
    24.61,
)
DRIVE_ML_PER_MIN = Constant(80.0, "mL/min", "8 L/100 km at 60 km/h", Standing.POLICY, 60.0, 120.0)


def draw_through_minutes(
    flow_ml_per_min: npt.ArrayLike,
    line_ml: npt.ArrayLike = LINE_ML.value,
    mixed_ml: npt.ArrayLike = MIXED_ML.value,
    old_fuel_left: float = OLD_FUEL_LEFT.value,
) -> Floats:
    """Minutes of running until all but ``old_fuel_left`` of what feeds the engine is treated.

    ``flow_ml_per_min`` 1 to 5000; ``line_ml`` empties as a plug, ``mixed_ml`` (filter, bowls) mixes, mL;
    shapes broadcast. OutOfRange: another flow, a share left beyond 1e-6 to 1.

    >>> round(float(draw_through_minutes(80.0)), 1)
    8.6
    """
    flow = within("flow_ml_per_min", flow_ml_per_min, 1.0, 5000.0, "mL/min", "an engine's fuel use")
    left = float(within("old_fuel_left", old_fuel_left, 1e-6, 1.0, "", "share of old fuel"))
    volume = np.asarray(line_ml, float) + np.asarray(mixed_ml, float) * np.log(1.0 / left)
    return np.asarray(volume / flow)
