"""A standing battery runs down: it leaks inside, and the parked car draws on it.

What happens: grids and paste react with the acid even with nothing connected, about twice as fast
for each 10 K. Clocks, alarms and radios draw a small steady current. At such currents (a three-thousandth
of the capacity in an hour) rate effects do not matter: charge taken is charge lost, and specific
gravity falls in proportion (DOE-HDBK-1084-95, p. 17), so Peukert's law is not used.

Equations::

    k(T) = r25 / 30 · exp(-Ea/R (1/T - 1/298.15))               share of capacity a day
    S(t) = S0 - integral of k(T) dt - 24 I (t - t0) / C          bounded to 0..1

Constants: Ea 51.2 kJ/mol, which doubles the rate between 20 and 30 °C and meets the army manual's
pair at 50 and 80 °F (51.0); its pair at 80 and 100 °F gives 63.9.
"""

import numpy as np
import numpy.typing as npt

from scheduler.physics.checks import within
from scheduler.physics.temperatures import kelvin
from scheduler.vocabulary.constants import Constant, Standing
from scheduler.vocabulary.errors import BadInput
from scheduler.vocabulary.units import GAS_CONSTANT_J_PER_MOL_K

Floats = npt.NDArray[np.float64]

ACTIVATION_ENERGY = Constant(
    51.2e3,
    "J/mol",
    "computed from the rates at 50, 80 and 100 °F in US Army TM 9-6140-200-14 para 4-8",
    Standing.COMPUTED,
    51.0e3,
    63.9e3,
)
REFERENCE_C = Constant(
    25.0, "°C", "temperature at which makers state self-discharge", Standing.COMMON_PRACTICE
)
COLDEST_C = Constant(-60.0, "°C", "below the freezing point of full acid nothing is known", Standing.POLICY)
HOTTEST_C = Constant(80.0, "°C", "no battery is stored hotter", Standing.POLICY)
RATE_DAYS = 30.0  # the days over which self-discharge is stated
HOURS_PER_DAY = 24.0


def temperature_factor(temp_c: npt.ArrayLike) -> Floats:
    """How much faster self-discharge runs at ``temp_c`` than at 25 °C; any shape; -60 to 80 °C.

    >>> round(float(temperature_factor(35.0)), 2)
    1.95
    """
    temp_c = within("temp_c", temp_c, COLDEST_C.value, HOTTEST_C.value, "°C", HOTTEST_C.source)
    inverse_k = 1.0 / kelvin(temp_c) - 1.0 / kelvin(REFERENCE_C.value)
    return np.asarray(np.exp(-ACTIVATION_ENERGY.value / GAS_CONSTANT_J_PER_MOL_K * inverse_k))


def doubling_factor(temp_c: npt.ArrayLike, step_k: float, reference_c: float) -> Floats:
    """The garage form of the same: 2 for each ``step_k`` above ``reference_c``; any shape."""
    return np.asarray(2.0 ** ((np.asarray(temp_c, float) - reference_c) / step_k))


def factor_days(temp_c: Floats) -> Floats:
    """Days' worth of the 30-day rate in one day at ``temp_c``: the integrand of K, any shape."""
    return temperature_factor(temp_c) / RATE_DAYS


def drain_per_day(current_a: npt.ArrayLike, capacity_ah: npt.ArrayLike) -> Floats:
    """Share of capacity that a steady current takes in a day; shapes broadcast.

    BadInput: a current (A) below nought, a capacity (Ah) not above it.

    >>> round(float(drain_per_day(0.030, 60.0)), 4)  # 30 mA on 60 Ah
    0.012
    """
    current_a, capacity_ah = np.asarray(current_a, float), np.asarray(capacity_ah, float)
    if (current_a < 0.0).any():
        raise BadInput("current_a", "is negative; a charger is not a drain")
    if not (capacity_ah > 0.0).all():
        raise BadInput("capacity_ah", "must be above zero everywhere")
    return np.asarray(HOURS_PER_DAY * current_a / capacity_ah)


def state_of_charge(
    start_soc: npt.ArrayLike, self_discharged: npt.ArrayLike, drained: npt.ArrayLike
) -> Floats:
    """What is left, 0 to 1, of ``start_soc`` after both losses; shapes broadcast.

    ``self_discharged`` and ``drained`` are shares of capacity, 0 or more.

    >>> round(float(state_of_charge(1.0, 0.10, 0.25)), 2)
    0.65
    """
    left = np.asarray(start_soc, float) - np.asarray(self_discharged, float) - np.asarray(drained, float)
    return np.asarray(np.clip(left, 0.0, 1.0))
