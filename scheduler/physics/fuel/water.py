"""Water in fuel: what a tank breathes in, and when it drops out.

What happens: as the tank cools it draws in damp air. Ethanol petrol dissolves that water until
it can hold no more; then an ethanol and water layer falls to the bottom, and what is left above
has lost octane. The colder, the less it holds. Ethanol-free petrol and diesel hold almost none:
there, water gathers only when damp air meets a wall below its dew point.

Breathing of empty space V_u between T1 (cold) and T2 (hot), relief p either way, fuel vapour Pv:

    V_in = V_u T1/P · max(0, (P − p − Pv1)/T1 − (P + p − Pv2)/T2) + β V_l (T2 − T1)

Diffusion down a vent of bore d and length L: G = D/(L/A + 1/d).

Tolerance, volume per cent (fitted to published points; ethanol share E in per cent, 0 to 15):

    w10(T)  = 0.30 + 0.0072 (T + 12.2)                    −20 to 30 °C
    w(E, T) = 0.0195 + (w10(T) − 0.0195) (E/10)^1.85

All that is breathed in is taken as dissolved, which is an upper bound. A spoonful of free water
in a tank therefore means a leak or a bad cap, not breath.
"""

import numpy as np
import numpy.typing as npt

from scheduler.physics.checks import within
from scheduler.physics.climate.vapour import saturation_pressure_hpa
from scheduler.physics.temperatures import kelvin
from scheduler.vocabulary.constants import Constant, Standing
from scheduler.vocabulary.units import GAS_CONSTANT_J_PER_MOL_K, STANDARD_ATMOSPHERE_KPA

Floats = npt.NDArray[np.float64]

EPA_MEMO = "US EPA memo 'Water Phase Separation in Oxygenated Gasoline' (Korotney), figures via trade copies"
CROPWATCH = "University of Nebraska-Lincoln, CropWatch: E10 3.06, E15 6.47 tsp per US gal"
WMO = "WMO-No. 8, Guide to Instruments and Methods of Observation, Annex 4.B"
PA_PER_HPA = 100.0
FIT = f"fit to {EPA_MEMO}; {CROPWATCH}"

WATER_DENSITY_G_L = Constant(998.2, "g/L", "water at 20 °C", Standing.PUBLISHED)
WATER_MOLAR_G = Constant(18.01528, "g/mol", "water", Standing.PUBLISHED)
TOLERANCE_E0_PCT = Constant(0.0195, "vol %", "US EPA memo: E0 at 60 °F", Standing.FROM_MEMORY)
TOLERANCE_E10_PCT = Constant(0.30, "vol %", f"{FIT}: E10 at 10 °F (−12.2 °C)", Standing.COMPUTED)
TOLERANCE_PER_K = Constant(0.0072, "vol %/K", FIT, Standing.COMPUTED)
TOLERANCE_FIT_C = Constant(-12.2, "°C", FIT, Standing.COMPUTED)
TOLERANCE_POWER = Constant(1.85, "1", "ln(0.8424/0.3984)/ln 1.5 = 1.847, from CropWatch", Standing.COMPUTED)
SCATTER_FACTOR = Constant(0.75, "1", f"covers the spread between the memo and {CROPWATCH}", Standing.POLICY)
MOST_ETHANOL = 0.15  # the fit ends here
COLDEST_FIT_C, WARMEST_FIT_C = -20.0, 30.0
E85_LEAST_ETHANOL = Constant(
    0.51, "1", "ASTM D5798 via US DOE AFDC: E85 holds 51 to 83 %", Standing.PUBLISHED
)
FUEL_ETHANOL_WATER = Constant(
    0.005,
    "1",
    "ASTM D4806: fuel ethanol holds at most 1.0 vol % water; half of that taken as likely",
    Standing.COMPUTED,
    0.0,
    0.01,
)
DIESEL_FRESH_MG_KG = Constant(
    50.0, "mg/kg", "water dissolved in diesel at 20 °C, trade figure", Standing.COMMON_PRACTICE, 20.0, 100.0
)
DIESEL_LIMIT_MG_KG = Constant(200.0, "mg/kg", "EN 590 limit for water", Standing.PUBLISHED)
VAPOUR_DIFFUSIVITY_M2_S = Constant(2.5e-5, "m²/s", "water vapour in air at 20 °C", Standing.FROM_MEMORY)
SECONDS_PER_DAY = 86400.0
_AIR_C = (-60.0, 70.0)


def saturation_pressure_pa(temp_c: npt.ArrayLike) -> Floats:
    """Vapour pressure of water over liquid, Pa, any shape at −60..70 °C (WMO-No. 8, Annex 4.B).

    OutOfRange beyond.
    """
    return np.asarray(PA_PER_HPA * saturation_pressure_hpa(within("temp_c", temp_c, *_AIR_C, "°C", WMO)))


def humidity_g_m3(pressure_pa: npt.ArrayLike, temp_c: npt.ArrayLike) -> Floats:
    """Grams of water in a m³ of air, from the vapour's pressure and the air's temperature.

    ``pressure_pa`` in Pa, ``temp_c`` in °C; shapes broadcast.
    """
    moles = np.asarray(pressure_pa, float) / (GAS_CONSTANT_J_PER_MOL_K * kelvin(temp_c))
    return np.asarray(moles * WATER_MOLAR_G.value)


def tolerance_pct(ethanol_share: npt.ArrayLike, temp_c: npt.ArrayLike) -> Floats:
    """Volume per cent of water that petrol of 0..0.15 ethanol holds clear at −20..30 °C.

    Shapes broadcast; OutOfRange beyond the fit.

    >>> round(float(tolerance_pct(0.10, 10.0)), 2)  # petrol E10 at 10 °C
    0.46
    """
    share = within("ethanol_share", ethanol_share, 0.0, MOST_ETHANOL, "of the volume", FIT)
    temp = within("temp_c", temp_c, COLDEST_FIT_C, WARMEST_FIT_C, "°C", FIT)
    e10 = TOLERANCE_E10_PCT.value + TOLERANCE_PER_K.value * (temp - TOLERANCE_FIT_C.value)
    lift = (e10 - TOLERANCE_E0_PCT.value) * (share / 0.10) ** TOLERANCE_POWER.value
    return np.asarray(TOLERANCE_E0_PCT.value + lift)


def gas_breathed_share(
    cold_c: npt.ArrayLike,
    hot_c: npt.ArrayLike,
    vapour_cold_kpa: npt.ArrayLike = 0.0,
    vapour_hot_kpa: npt.ArrayLike = 0.0,
    relief_kpa: npt.ArrayLike = 0.0,
) -> Floats:
    """m³ of air drawn in a day per m³ of empty space, any shape; the first term of V_in."""
    cold_k, hot_k = kelvin(cold_c), kelvin(hot_c)
    relief = np.asarray(relief_kpa, float)
    at_cold = (STANDARD_ATMOSPHERE_KPA - relief - np.asarray(vapour_cold_kpa, float)) / cold_k
    at_hot = (STANDARD_ATMOSPHERE_KPA + relief - np.asarray(vapour_hot_kpa, float)) / hot_k
    return np.asarray(np.maximum(at_cold - at_hot, 0.0) * cold_k / STANDARD_ATMOSPHERE_KPA)


def liquid_breathed_share(
    cold_c: npt.ArrayLike, hot_c: npt.ArrayLike, expansion_per_k: npt.ArrayLike
) -> Floats:
    """m³ of air drawn in a day per m³ of fuel as the fuel itself shrinks; the second term.

    From the coldest and the hottest of the day, °C; shapes broadcast.
    """
    swing = np.asarray(hot_c, float) - np.asarray(cold_c, float)
    return np.asarray(np.maximum(swing, 0.0) * np.asarray(expansion_per_k, float))


def condensable_g_m3(vapour_pa: npt.ArrayLike, air_c: npt.ArrayLike, wall_c: npt.ArrayLike) -> Floats:
    """Grams that each m³ of air leaves on a wall below its dew point, zero on a warmer wall.

    ``vapour_pa``: pressure of the water in the air at ``air_c``; wall −60..70 °C; shapes broadcast.
    """
    held = humidity_g_m3(saturation_pressure_pa(wall_c), wall_c)
    return np.asarray(np.maximum(humidity_g_m3(vapour_pa, air_c) - held, 0.0))


def diffusion_m3_per_day(bore_m: npt.ArrayLike, length_m: npt.ArrayLike) -> Floats:
    """m³ of outside air whose water diffuses in a day through a vent of this bore and length.

    ``bore_m`` 0.00001 to 0.2 m (OutOfRange beyond), ``length_m`` 0 or more; shapes broadcast.
    """
    bore = within("bore_m", bore_m, 1e-5, 0.2, "m", "bores of vents and fillers")
    area = np.pi * bore**2 / 4
    path = np.asarray(length_m, float) / area + 1.0 / bore
    return np.asarray(VAPOUR_DIFFUSIVITY_M2_S.value / path * SECONDS_PER_DAY)
