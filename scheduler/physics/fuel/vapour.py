"""How petrol loses its lighter parts: the part that starts a cold engine leaves through the vent.

What happens: by day the gas above the fuel warms, swells and goes out full of vapour; by night
air comes in and takes up vapour afresh. The more empty space over the less fuel, the faster.
Fuel below the floor of vapour pressure starts badly whatever its gum.

True vapour pressure, US EPA AP-42 section 7.1, Figures 7.1-14b and 7.1-15 (R in psi, T in °R):

    A = 15.64 − 1.854 √S − (0.8742 − 0.3280 √S) ln R
    B = 8742 − 1042 √S − (1049 − 179.4 √S) ln R
    Pv = exp(A − B / T)                                            psia

Daily loss, AP-42 equation 1-5 form, m in g per m³ of empty space:

    K_E = ΔT/T̄ + (Pv2 − Pv1 − 2 p_relief)/(P − Pv(T̄)),  0 to 1
    m   = K_E Pv(T̄) M/(R T̄)

Each mass per cent lost takes 1.6 to 2.2 kPa off the Reid pressure R, and the loss itself falls
with R as e^(bR). That separates, so the day of any R comes from one integral of the place:

    e^(−bR) = e^(−b R0) + b · slope · 100 · (ullage/fuel)/ρ · e^(−b Rref) · ∫ m(Rref, T) dt
"""

import numpy as np
import numpy.typing as npt

from scheduler.physics.checks import within
from scheduler.physics.temperatures import kelvin
from scheduler.vocabulary.constants import Constant, Standing
from scheduler.vocabulary.units import F_PER_K, GAS_CONSTANT_J_PER_MOL_K, KPA_PER_PSI, STANDARD_ATMOSPHERE_KPA

Floats = npt.NDArray[np.float64]

AP42 = "US EPA AP-42 section 7.1, Figures 7.1-14b and 7.1-15"
SURROGATE = "Raoult's law on an 11-component petrol"
DISTILLATION_SLOPE = Constant(3.0, "°F per vol %", f"{AP42}: S of motor petrol", Standing.PUBLISHED)
MOLAR_MASS_G = Constant(66.0, "g/mol", f"{AP42}: vapour of petrol, 66 to 68", Standing.PUBLISHED, 66.0, 68.0)
PETROL_DENSITY_G_M3 = Constant(745000.0, "g/m³", "petrol at 15 °C, mid of EN 228", Standing.FROM_MEMORY)
WEATHERING_SUMMER_KPA = Constant(1.6, "kPa per mass %", SURROGATE, Standing.COMPUTED)
WEATHERING_WINTER_KPA = Constant(2.2, "kPa per mass %", SURROGATE, Standing.COMPUTED)
PRESSURE_EXPONENT = Constant(
    0.0342,
    "1/kPa",
    "0.2357 per psi, form of EPA-420-R-14-014, value of SAE 892089; AP-42 gives 0.0343 at 10 to 20 °C",
    Standing.FROM_MEMORY,
)
FLOOR_KPA = Constant(
    45.0, "kPa", "EN 228 class A minimum (French Arrêté of 26 Jan 2009, Annex II)", Standing.PUBLISHED
)
WINTER_FLOOR_KPA = Constant(
    60.0, "kPa", "EN 228 class D minimum (French Arrêté of 26 Jan 2009, Annex II)", Standing.PUBLISHED
)
LEAST_REID_KPA, MOST_REID_KPA = 5.0, 120.0  # the AP-42 chart covers petrols; beyond lies no road fuel


def vapour_pressure_kpa(reid_kpa: npt.ArrayLike, temp_c: npt.ArrayLike) -> Floats:
    """True vapour pressure of petrol, kPa, from its Reid pressure (5..120 kPa) at −60..70 °C.

    Shapes broadcast; OutOfRange beyond.

    >>> round(float(vapour_pressure_kpa(60.0, 20.0)), 1)
    35.8
    """
    reid = within("reid_kpa", reid_kpa, LEAST_REID_KPA, MOST_REID_KPA, "kPa", AP42)
    rankine = kelvin(within("temp_c", temp_c, -60.0, 70.0, "°C", AP42)) * F_PER_K  # in °R
    root, log_reid = np.sqrt(DISTILLATION_SLOPE.value), np.log(reid / KPA_PER_PSI)
    a = 15.64 - 1.854 * root - (0.8742 - 0.3280 * root) * log_reid
    b = 8742.0 - 1042.0 * root - (1049.0 - 179.4 * root) * log_reid
    return np.asarray(np.exp(a - b / rankine) * KPA_PER_PSI)


def breathing_share(
    reid_kpa: npt.ArrayLike, cold_c: npt.ArrayLike, hot_c: npt.ArrayLike, relief_kpa: npt.ArrayLike = 0.0
) -> Floats:
    """AP-42's vapour space expansion factor K_E, 0..1, of a day between two tank temperatures."""
    cold, hot = np.asarray(cold_c, float), np.asarray(hot_c, float)
    mean_k = kelvin((cold + hot) / 2)
    swing = vapour_pressure_kpa(reid_kpa, hot) - vapour_pressure_kpa(reid_kpa, cold)
    air = np.maximum(STANDARD_ATMOSPHERE_KPA - vapour_pressure_kpa(reid_kpa, (cold + hot) / 2), swing)
    band = 2.0 * np.asarray(relief_kpa, float)
    return np.asarray(np.clip((hot - cold) / mean_k + (swing - band) / np.maximum(air, 1e-9), 0.0, 1.0))


def daily_loss_g_per_m3(
    reid_kpa: npt.ArrayLike, cold_c: npt.ArrayLike, hot_c: npt.ArrayLike, relief_kpa: npt.ArrayLike = 0.0
) -> Floats:
    """Grams of vapour lost a day per m³ of empty space, any shape; ``relief_kpa`` 0: free vent.

    >>> round(float(daily_loss_g_per_m3(60.0, 10.0, 20.0)), 1)
    153.4
    """
    mean_c = (np.asarray(cold_c, float) + np.asarray(hot_c, float)) / 2
    pascals = vapour_pressure_kpa(reid_kpa, mean_c) * 1000.0
    density = pascals * MOLAR_MASS_G.value / (GAS_CONSTANT_J_PER_MOL_K * kelvin(mean_c))
    return np.asarray(breathing_share(reid_kpa, cold_c, hot_c, relief_kpa) * density)


def weathering_slope(winter_share: npt.ArrayLike) -> Floats:
    """kPa of Reid pressure lost per mass per cent, by the share of winter petrol (any shape).

    OutOfRange beyond 0 to 1.
    """
    share = within("winter_share", winter_share, 0.0, 1.0, "", SURROGATE)
    return np.asarray(
        WEATHERING_SUMMER_KPA.value + share * (WEATHERING_WINTER_KPA.value - WEATHERING_SUMMER_KPA.value)
    )


def reid_after(
    reid_kpa: npt.ArrayLike,
    loss_g_per_m3: npt.ArrayLike,
    reference_kpa: npt.ArrayLike,
    ullage_ratio: npt.ArrayLike,
    slope_kpa_per_pct: npt.ArrayLike,
) -> Floats:
    """Reid pressure, kPa, after a spell whose integral of loss at ``reference_kpa`` is given.

    ``loss_g_per_m3``: the integral; ``ullage_ratio``: empty space over fuel, by volume; shapes broadcast.
    """
    b = PRESSURE_EXPONENT.value
    grown = _growth(reference_kpa, ullage_ratio, slope_kpa_per_pct) * np.asarray(loss_g_per_m3, float)
    after = -np.log(np.exp(-b * np.asarray(reid_kpa, float)) + grown) / b
    return np.asarray(np.maximum(after, LEAST_REID_KPA))


def loss_until(
    reid_kpa: npt.ArrayLike,
    floor_kpa: npt.ArrayLike,
    reference_kpa: npt.ArrayLike,
    ullage_ratio: npt.ArrayLike,
    slope_kpa_per_pct: npt.ArrayLike,
) -> Floats:
    """The integral of loss (g per m³, at ``reference_kpa``) that brings fuel to the floor.

    Zero where it is there already, infinite where there is no empty space (``ullage_ratio``: empty space
    over fuel, by volume). Pressures are Reid pressures in kPa; shapes broadcast.
    """
    b = PRESSURE_EXPONENT.value
    need = np.exp(-b * np.asarray(floor_kpa, float)) - np.exp(-b * np.asarray(reid_kpa, float))
    with np.errstate(divide="ignore", invalid="ignore"):
        amount = np.maximum(need, 0.0) / _growth(reference_kpa, ullage_ratio, slope_kpa_per_pct)
    return np.where(need <= 0, 0.0, amount)


def _growth(
    reference_kpa: npt.ArrayLike, ullage_ratio: npt.ArrayLike, slope_kpa_per_pct: npt.ArrayLike
) -> Floats:
    """How fast e^(−bR) grows per g lost from each m³ of empty space."""
    b = PRESSURE_EXPONENT.value
    per_cent_per_gram = 100.0 * np.asarray(ullage_ratio, float) / PETROL_DENSITY_G_M3.value
    scale = b * np.asarray(slope_kpa_per_pct, float) * np.exp(-b * np.asarray(reference_kpa, float))
    return np.asarray(scale * per_cent_per_gram)
