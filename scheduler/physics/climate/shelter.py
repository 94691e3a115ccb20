"""What a roof and walls do to the air: one thermal time constant a kind of shelter.

A building answers the air outside as a first-order body of time constant tau::

    tau dT/dt = T_outside - T
    daily swing inside / outside = 1 / sqrt(1 + (omega tau)^2)      omega = 2 pi / 24 h
    the day's peak comes later by atan(omega tau) / omega
    slow changes (seasons, fronts) come through whole, later by tau
    a cold spell of D hours comes through by 1 - exp(-D / tau)
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scheduler.vocabulary.constants import Constant, Standing

Floats = npt.NDArray[np.float64]

SHELTERS = ("open", "covered", "enclosed", "heated", "humidity_controlled")

_OWN = "our own estimate of a light farm building; put a logger in the building to replace it"
_HOURS_PER_DAY = 24.0
_FORGOTTEN = 8.0  # time constants after which less than a thousandth is felt


def _hours(value: float, low: float, high: float) -> Constant:
    return Constant(value, "h", _OWN, Standing.POLICY, low, high)


TIME_CONSTANT_H = {
    "open": _hours(0.0, 0.0, 0.0),
    "covered": _hours(2.0, 1.0, 4.0),
    "enclosed": _hours(8.0, 4.0, 24.0),
    "heated": _hours(12.0, 6.0, 36.0),
    "humidity_controlled": _hours(12.0, 6.0, 36.0),
}
HEATED_TO_C = Constant(
    10.0, "°C", "a building called heated of which no set point is recorded", Standing.POLICY
)
RH_CEILING_PCT = Constant(
    55.0, "%", "a building called humidity-controlled of which no set point is recorded", Standing.POLICY
)
SPELL_HOURS = Constant(
    24.0,
    "h",
    "how long the worst of a cold spell lasts: a night and the day after it",
    Standing.POLICY,
    12.0,
    96.0,
)
PEAK_HOUR = Constant(15.0, "h", "the air is warmest in mid-afternoon, local time", Standing.COMMON_PRACTICE)


@dataclass(frozen=True)
class Response:
    """How a shelter answers the outside: share of the daily swing, delay of the peak, slow delay."""

    swing: float
    peak_delay_h: float
    slow_delay_days: float


def through_walls(shelter: str, outside_c: Floats) -> Floats:
    """Hourly temperature inside from the hours outside, both (h,) in order without gaps, °C.

    The first-order body's answer to each hour, ``exp(-t/tau)``, summed over the hours before; the
    first day's mean is taken to have stood before the first hour.
    """
    tau_h = TIME_CONSTANT_H[shelter].value
    if tau_h == 0.0:
        return outside_c
    memory = int(np.ceil(_FORGOTTEN * tau_h))
    weight = np.exp(-np.arange(memory) / tau_h)
    weight[0] /= 2.0  # trapezium rule: the hour itself is the edge of what is felt
    before = np.full(memory - 1, outside_c[: int(_HOURS_PER_DAY)].mean())
    return np.convolve(np.concatenate([before, outside_c]), weight / weight.sum(), mode="valid")


def spell_share(shelter: str) -> float:
    """How much of a surprise cold spell outside comes through, 0 to 1; all of it in the open.

    >>> [round(spell_share(shelter), 2) for shelter in ("open", "covered", "enclosed", "heated")]
    [1.0, 1.0, 0.95, 0.86]
    """
    tau_h = TIME_CONSTANT_H[shelter].value
    return 1.0 if tau_h == 0.0 else float(-np.expm1(-SPELL_HOURS.value / tau_h))


def response(shelter: str) -> Response:
    """The first-order response of a kind of shelter (see module)."""
    tau_h = TIME_CONSTANT_H[shelter].value
    omega_per_h = 2.0 * np.pi / _HOURS_PER_DAY
    angle = omega_per_h * tau_h
    return Response(
        swing=float(1.0 / np.hypot(1.0, angle)),
        peak_delay_h=float(np.arctan(angle) / omega_per_h),
        slow_delay_days=tau_h / _HOURS_PER_DAY,
    )
