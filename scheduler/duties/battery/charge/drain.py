"""What takes more from a battery than the record says: a mixture of three, by its own readings.

As recorded; a slow leak, in the battery or over its dirty case; a circuit that stays awake. A recorded
drain is evidence, not a wall: it was measured once, and something may draw on it since. Each reading is held
against every size of the leak under noise with heavy tails (Student's t with three degrees of freedom), so
that one wild reading proves nothing, and two that agree prove much. Readings of all spells count: what is
learned stays learned through charges.

    P(x | readings) ~ P(x) · prod_j t3((change_j - min(S_start, e_j + x · days_j)) / scale_j)

x is a share of capacity a day, 0 for "as recorded". Priors (policy; no rate of drain faults is published):
a circuit awake in one of twenty lay-ups, log-normal about 180 mA; a slow leak in one of fifty, log-uniform
from 1 to 30 % a day.
"""

from dataclasses import dataclass

import numpy as np

from scheduler.duties.conditions import Bools, Floats, Ints
from scheduler.physics.battery.discharge import HOURS_PER_DAY
from scheduler.vocabulary.constants import Constant, Standing

_OWN = "no rate of drain faults is published; our own estimate from single measured cases"
AWAKE_SHARE = Constant(0.05, "of lay-ups", _OWN, Standing.POLICY, 0.01, 0.08)
AWAKE_A = Constant(0.18, "A", _OWN, Standing.POLICY, 0.057, 0.57)
AWAKE_SPREAD = 0.9  # of its logarithm: the 10 and 90 % above
LEAK_SHARE = Constant(0.02, "of lay-ups", _OWN, Standing.POLICY, 0.005, 0.15)
LEAK_LEAST, LEAK_MOST = 0.01, 0.30  # a day
DEGREES = 3.0  # of freedom: heavy tails
READINGS_LEAST = 2  # policy: one reading alone proves no drain
SUSPECT_SD = 2.0  # policy: a car with no reading so far off is not looked at
SIZES = np.geomspace(0.002, 0.6, 60)  # shares of capacity a day
_STEP = float(np.log(SIZES[1] / SIZES[0]))
QUANTILES = (0.10, 0.50, 0.90)


@dataclass(frozen=True)
class Falls:
    """What readings (m,) of cars ``row`` show: ``change`` since ``start`` (a level), ``expected`` by the
    record, over ``days``, with a standard deviation ``noise`` and a share ``doubt`` of what is expected."""

    row: Ints
    start: Floats
    change: Floats
    expected: Floats
    days: Floats
    noise: Floats
    doubt: Floats


def extra_a_day(falls: Falls, capacity_ah: Floats, may_draw: Bools) -> Floats:
    """What more is likely taken a day (3, n), shares of capacity: slow, likely, fast; 0 where as recorded.

    ``capacity_ah`` (n,); ``may_draw`` (n,): nothing can draw on an isolated battery.

    >>> import numpy as np
    >>> two = np.ones(2)
    >>> falls = Falls(np.zeros(2, int), two, 0.6 * two, 0.12 * two, 10 * two, 0.05 * two, 0.1 * two)
    >>> extra_a_day(falls, np.array([60.0]), np.array([True])).round(3)[1].tolist()
    [0.049]
    """
    n = may_draw.size
    extra = np.zeros((3, n))
    scale = np.hypot(falls.noise, falls.doubt * falls.expected)
    apart = np.zeros(n)
    np.maximum.at(apart, falls.row, (falls.change - falls.expected) / scale)
    read = np.bincount(falls.row, minlength=n)
    suspects = np.flatnonzero(may_draw & (read >= READINGS_LEAST) & (apart > SUSPECT_SD))
    if not suspects.size:
        return extra
    place = np.full(n, -1)
    place[suspects] = np.arange(suspects.size)
    kept = place[falls.row] >= 0
    row = place[falls.row[kept]]
    sizes = np.append(0.0, SIZES)
    predicted = falls.expected[kept, None] + falls.days[kept, None] * sizes
    predicted = np.minimum(predicted, falls.start[kept, None])
    stray = (falls.change[kept, None] - predicted) / scale[kept, None]
    each = -(DEGREES + 1.0) / 2.0 * np.log1p(stray**2 / DEGREES)
    weight = np.log(_prior(capacity_ah[suspects]))
    np.add.at(weight, row, each)
    weight = np.exp(weight - weight.max(axis=1, keepdims=True))
    drawn = weight[:, 0] < weight[:, 1:].sum(axis=1)
    total = np.cumsum(weight[:, 1:], axis=1)
    for case, share in enumerate(QUANTILES):
        at = (total < share * total[:, -1:]).sum(axis=1)
        extra[case, suspects] = np.where(drawn, SIZES[np.minimum(at, SIZES.size - 1)], 0.0)
    return extra


def _prior(capacity_ah: Floats) -> Floats:
    """How likely each size is before anything is read (k, 1 + sizes), the first: as recorded."""
    amps = SIZES * capacity_ah[:, None] / HOURS_PER_DAY
    bell = np.exp(-(np.log(amps / AWAKE_A.value) ** 2) / (2.0 * AWAKE_SPREAD**2))
    awake = AWAKE_SHARE.value * bell * _STEP / (AWAKE_SPREAD * np.sqrt(2.0 * np.pi))
    within = (SIZES >= LEAK_LEAST) & (SIZES <= LEAK_MOST)
    leak = np.where(within, LEAK_SHARE.value * _STEP / np.log(LEAK_MOST / LEAK_LEAST), 0.0)
    none = np.full((capacity_ah.size, 1), 1.0 - AWAKE_SHARE.value - LEAK_SHARE.value)
    return np.concatenate([none, awake + leak + np.finfo(float).tiny], axis=1)
