"""What a charge that was not completed, or a drive, puts back into a battery.

What happens: a charger gives its current until four fifths are in, then less and less as volts hold it back;
an engine gives what it has to spare, or what the battery takes at its volts, the less the colder it is and
the fuller. Neither fills it: only hours at full volts do.

Equations, s the state of charge, C what the battery holds, a in 1/h::

    charger   ds/dt = 0.95 I/C to s = 0.8;  then min(0.85 I/C, (1 - s)/tau)
    engine    ds/dt = min(I/C, k(T) (1 - s))

Both stop at 0.98. The shares, tau and k are policy, k(0 °C) tied to the charge acceptance that
EN 50342-1 asks for (from memory); current to spare: see its rows.
"""

import numpy as np
import numpy.typing as npt

from scheduler.vocabulary.constants import Constant, Standing
from scheduler.vocabulary.errors import BadInput

Floats = npt.NDArray[np.float64]

BULK_SOC, MOST_SOC = 0.80, 0.98
BULK_SHARE, TAIL_SHARE = 0.95, 0.85  # of the ampere-hours put in that stay
TAIL_HOURS = Constant(1.5, "h", "how fast the last fifth goes in, flooded", Standing.POLICY, 1.0, 3.0)
TAKES_AT_C = (-10.0, 0.0, 10.0, 20.0, 30.0)
TAKES_PER_HOUR = (0.14, 0.20, 0.30, 0.40, 0.50)
TAKES_OFF = Constant(0.40, "1", "how far a battery's acceptance may be off", Standing.POLICY)
ALTERNATORS_FROM = 1965.0  # model year; from memory
SIX_VOLT_BELOW = 9.0
_MAKERS_GUIDES = "trade guides for third-brush and two-brush dynamos"
# Amperes to spare with lamps off: at idle, and on the road by day.
ALTERNATOR_A = (
    5.0,
    Constant(25.0, "A", "less than half of what it can give", Standing.FROM_MEMORY, 12.0, 40.0),
)
DYNAMO_A = (
    0.0,
    Constant(12.0, "A", "of 20 to 22 A at most, less ignition", Standing.COMPUTED, 4.0, 16.0),
)
SIX_VOLT_A = (0.0, Constant(6.5, "A", _MAKERS_GUIDES, Standing.COMMON_PRACTICE, 0.0, 10.0))
FULL_SPEED_KMH = 40.0  # policy: from here on all that there is to spare; below less, down to that at idle


def charged_soc(
    soc: npt.ArrayLike, amps: npt.ArrayLike, hours: npt.ArrayLike, capacity_ah: npt.ArrayLike
) -> Floats:
    """State of charge, 0 to 1, after so many hours on a charger; shapes broadcast.

    ``amps`` and ``hours`` 0 or more, ``capacity_ah`` above 0; BadInput otherwise.

    >>> charged_soc(0.5, 4.0, 4.0, 60.0).round(3).tolist()
    0.753
    """
    start, amps, hours, capacity = np.broadcast_arrays(
        *(np.asarray(value, float) for value in (soc, amps, hours, capacity_ah))
    )
    _check(amps, hours, capacity)
    bulk = BULK_SHARE * amps / capacity
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):  # hardly a current takes for ever
        to_bulk = np.where(bulk > 0.0, np.maximum(BULK_SOC - start, 0.0) / bulk, np.inf)
    first = start + bulk * np.minimum(hours, to_bulk)
    left = np.maximum(hours - to_bulk, 0.0)
    return _held(first, TAIL_SHARE * amps / capacity, 1.0 / TAIL_HOURS.value, left, start)


def spare_amps(model_year: npt.ArrayLike, nominal_v: npt.ArrayLike, kmh: npt.ArrayLike) -> Floats:
    """What the engine can spare for the battery, A; shapes broadcast; any ``model_year``, NaN unknown.

    ``nominal_v`` of the system; ``kmh``: mean speed of the drive, 0 standing, NaN: not written down, taken
    as on the road.

    >>> spare_amps([1995.0, 1955.0, 1948.0], [12.0, 12.0, 6.0], [50.0, 20.0, 60.0]).tolist()
    [25.0, 6.0, 6.5]
    """
    year, volts = np.asarray(model_year, float), np.asarray(nominal_v, float)
    dynamo, six_volt = year < ALTERNATORS_FROM, volts < SIX_VOLT_BELOW
    idle, road = (
        np.select([six_volt, dynamo], [small, middle], large)
        for small, middle, large in (
            (SIX_VOLT_A[0], DYNAMO_A[0], ALTERNATOR_A[0]),
            (SIX_VOLT_A[1].value, DYNAMO_A[1].value, ALTERNATOR_A[1].value),
        )
    )
    pace = np.nan_to_num(np.asarray(kmh, float) / FULL_SPEED_KMH, nan=1.0)
    return np.asarray(idle + (road - idle) * np.clip(pace, 0.0, 1.0))


def driven_soc(
    soc: npt.ArrayLike,
    amps: npt.ArrayLike,
    hours: npt.ArrayLike,
    capacity_ah: npt.ArrayLike,
    temp_c: npt.ArrayLike,
) -> Floats:
    """State of charge, 0 to 1, after hours of an engine with ``amps`` to spare; shapes broadcast.

    ``temp_c`` of the battery, any, held within -10 to 30 °C; the rest as in ``charged_soc``, BadInput too.

    >>> driven_soc(0.5, 25.0, 0.75, 70.0, [20.0, 0.0]).round(3).tolist()
    [0.63, 0.57]
    """
    start, amps, hours, capacity, temp = np.broadcast_arrays(
        *(np.asarray(value, float) for value in (soc, amps, hours, capacity_ah, temp_c))
    )
    _check(amps, hours, capacity)
    return _held(start, amps / capacity, np.interp(temp, TAKES_AT_C, TAKES_PER_HOUR), hours, start)


def _held(soc: Floats, steady: Floats, share: npt.ArrayLike, hours: Floats, start: Floats) -> Floats:
    """ds/dt = min(steady, share (1 - s)) over some hours: straight, then towards full; never below start."""
    share = np.asarray(share, float)
    turn = 1.0 - steady / share
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):  # hardly a current takes for ever
        straight = np.where(steady > 0.0, np.clip((turn - soc) / steady, 0.0, hours), hours)
    reached = soc + steady * straight
    after = 1.0 - (1.0 - reached) * np.exp(-share * (hours - straight))
    return np.asarray(np.maximum(np.minimum(after, MOST_SOC), start))


def _check(amps: Floats, hours: Floats, capacity_ah: Floats) -> None:
    if not (amps >= 0.0).all():
        raise BadInput("amps", "must be zero or above")
    if not (hours >= 0.0).all():
        raise BadInput("hours", "must be zero or above")
    if not (capacity_ah > 0.0).all():
        raise BadInput("capacity_ah", "must be above zero")
