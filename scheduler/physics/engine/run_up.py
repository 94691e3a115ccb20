"""Running an engine up: what a short run leaves behind, and how long a real one takes.

What happens: burning a litre of petrol makes about 0.9 L of water. A cold engine keeps some of it
in sump and silencer, with fuel from the rich start; oil dries only when it has been hot for a
while, which needs load. So a run counts when the oil has been held at drying temperature, driven;
a short idle is a harmful cold start. Between runs, damp air on bare metal (``damp``) sets the pace.

    water   = burnt litres · water per litre
    heat    = fuel flow · heating value · share that reaches the oil and water
    T(t)    = T0 + heat/loss · (1 − e^(−t · loss/capacity))
"""

import numpy as np
import numpy.typing as npt

from scheduler.physics.checks import within
from scheduler.vocabulary.constants import Constant, Standing

Floats = npt.NDArray[np.float64]

CALIBRATED = (
    "set so that a drive from 20 °C dries oil in 15 to 20 min (J. Fitch, Practicing Oil Analysis) "
    "and a drive in hard frost in up to half an hour (Winnipeg Free Press)"
)
HEATING_VALUE_KJ_PER_ML = Constant(32.0, "kJ/mL", "petrol, lower heating value", Standing.FROM_MEMORY)
HEAT_SHARE = Constant(0.30, "1", "share of the fuel's heat that warms engine and oil", Standing.FROM_MEMORY)
CAPACITY_KJ_PER_K = Constant(200.0, "kJ/K", CALIBRATED, Standing.COMPUTED, 150.0, 240.0)
LOSS_KW_PER_K = Constant(0.030, "kW/K", "an idling engine levels out about 55 K above air", Standing.POLICY)
DRYING_OIL_C = Constant(
    80.0,
    "°C",
    "between 71 °C (US Army TM 9-6115-464-12 para 2-13) and 74 to 93 °C (an aero-engine maker)",
    Standing.POLICY,
    71.0,
    93.0,
)
EXHAUST_DEW_POINT_C = Constant(50.4, "°C", "exhaust of petrol at stoichiometry", Standing.COMPUTED)


def combustion_water_g(fuel_ml: npt.ArrayLike, water_kg_per_l: npt.ArrayLike) -> Floats:
    """Grams of water made by burning ``fuel_ml`` (0 to 1,000,000 mL; OutOfRange beyond); shapes broadcast.

    ``water_kg_per_l``: of the fuel's row; kg per L equals g per mL.
    """
    burnt = within("fuel_ml", fuel_ml, 0.0, 1e6, "mL", "a run of an engine")
    return np.asarray(burnt * np.asarray(water_kg_per_l, float))


def warm_up_minutes(
    start_c: npt.ArrayLike, fuel_ml_per_min: npt.ArrayLike, target_c: npt.ArrayLike = DRYING_OIL_C.value
) -> Floats:
    """Minutes until oil reaches ``target_c`` at this fuel flow; infinite where it never does.

    ``start_c`` -60 to 60 °C, ``fuel_ml_per_min`` 0.1 to 5000; shapes broadcast; OutOfRange beyond.
    """
    start = within("start_c", start_c, -60.0, 60.0, "°C", "a place where a car stands")
    flow = within("fuel_ml_per_min", fuel_ml_per_min, 0.1, 5000.0, "mL/min", "an engine's fuel use")
    heat_kw = flow * HEATING_VALUE_KJ_PER_ML.value * HEAT_SHARE.value / 60.0
    share = np.maximum(np.asarray(target_c, float) - start, 0.0) / (heat_kw / LOSS_KW_PER_K.value)
    time_constant_min = CAPACITY_KJ_PER_K.value / LOSS_KW_PER_K.value / 60.0
    reached = np.where(share < 1.0, share, 0.0)
    return np.where(share < 1.0, -time_constant_min * np.log1p(-reached), np.inf)


def steady_oil_c(start_c: npt.ArrayLike, fuel_ml_per_min: npt.ArrayLike) -> Floats:
    """Where oil temperature would level out without a thermostat, °C; shapes broadcast.

    ``start_c``: the air's; ``fuel_ml_per_min``: burnt, mL a minute.
    """
    heat_kw = np.asarray(fuel_ml_per_min, float) * HEATING_VALUE_KJ_PER_ML.value * HEAT_SHARE.value / 60.0
    return np.asarray(np.asarray(start_c, float) + heat_kw / LOSS_KW_PER_K.value)
