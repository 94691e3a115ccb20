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

LABEL = "the stabiliser's own label"
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


def dose_ml(litres: npt.ArrayLike, ratio: float, step_ml: float = 0.0) -> Floats:
    """Millilitres for ``litres`` not yet treated, at 1 part in ``ratio``, rounded up to the step."""
    volume = within("litres", litres, 0.0, 1e5, "L", LABEL)
    exact = volume * 1000.0 / float(within("ratio", ratio, 10.0, 10000.0, "parts to 1", LABEL))
    return _round_up(exact, step_ml)


def dose_from_ml_per_litre(litres: npt.ArrayLike, ml_per_litre: float, step_ml: float = 0.0) -> Floats:
    """Millilitres for ``litres`` where the label gives mL per litre, rounded up to the step."""
    volume = within("litres", litres, 0.0, 1e5, "L", LABEL)
    exact = volume * float(within("ml_per_litre", ml_per_litre, 0.1, 100.0, "mL/L", LABEL))
    return _round_up(exact, step_ml)


def _round_up(exact: Floats, step_ml: float) -> Floats:
    step = float(within("step_ml", step_ml, 0.0, 1000.0, "mL", LABEL))
    if step == 0:
        return exact
    return np.asarray(np.ceil(exact / step - 1e-9) * step)


def draw_through_minutes(
    flow_ml_per_min: npt.ArrayLike,
    line_ml: npt.ArrayLike = LINE_ML.value,
    mixed_ml: npt.ArrayLike = MIXED_ML.value,
    old_fuel_left: float = OLD_FUEL_LEFT.value,
) -> Floats:
    """Minutes of running until all but ``old_fuel_left`` of what feeds the engine is treated."""
    flow = within("flow_ml_per_min", flow_ml_per_min, 1.0, 5000.0, "mL/min", "an engine's fuel use")
    left = float(within("old_fuel_left", old_fuel_left, 1e-6, 1.0, "", "share of old fuel"))
    volume = np.asarray(line_ml, float) + np.asarray(mixed_ml, float) * np.log(1.0 / left)
    return np.asarray(volume / flow)
