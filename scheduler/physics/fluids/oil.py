"""Engine and gear oil: time, short runs and damp.

What happens: burned fuel and water pass the rings of a cold engine and form acids in the sump
(US Army TM 750-254); only a run to full temperature under load drives them out again. Standing
oil itself keeps long, but what it holds corrodes bearings and bores, the more so in damp air. So
oil is changed by the calendar: sooner for an engine that is started regularly or was run short,
later for one that rests.

Equation: interval = months x (1 - (1 - f) x d), with d the damp share of the year (0..1) and f
the factor for a place that is damp all the year (policy).
"""

import numpy as np
import numpy.typing as npt

from scheduler.physics.checks import within
from scheduler.vocabulary.errors import BadInput
from scheduler.vocabulary.units import DAYS_PER_MONTH

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

STANDBY_OIL = "US Army TM 9-6115-464-12 para 2-13 and LO 9-2320-279-12: engine oil at most 6 months"
LAY_UP_OIL = "changed before the lay-up, then after one to three years of rest"
WARM_OIL = "handbooks: 12 months where every run reaches full warmth (a maker's service manual, 1998)"
HANDBOOK_GEAR_OIL = "handbooks and workshops: gear oils every 3 to 10 years, their level looked at yearly"
ANNUAL_GEAR_OIL = "US Army LO 9-2320-279-12 and LO 9-2320-363-12: transmission and axle oil yearly"
EXTENDED_OIL = "US Army TM 9-2320-280-10: hard-time intervals may be extended in low activity, if preserved"
COLD_RUNNING = "US Army TM 750-254: cold running forms acids in the crankcase"
PRESERVATIVE_OIL = "US Army TB 740-97-4: preservative oil is good until the first change, do not drain"


def ran_short(last_run: npt.ArrayLike, last_full_warm: npt.ArrayLike, changed: npt.ArrayLike) -> Bools:
    """Whether the engine was run since it was last fully warm, on this fill of oil (n,).

    Ordinals (n,), NaN for unknown: ``last_run``, ``last_full_warm``, and ``changed``, the day of the fill.
    """
    run, warm = np.asarray(last_run, float), np.asarray(last_full_warm, float)
    after_warm = np.where(np.isnan(warm), True, run > warm)
    return after_warm & (run > np.asarray(changed, float))


def interval_days(months: npt.ArrayLike, damp_share: npt.ArrayLike, damp_factor: float) -> Floats:
    """Days between changes, shapes broadcast; ``damp_share`` 0..1 shortens towards ``damp_factor``.

    ``months`` above 0: the interval in dry air. BadInput otherwise; OutOfRange: a share beyond.

    >>> round(float(interval_days(12.0, 0.5, 0.5)))
    274
    """
    share = within("damp_share", damp_share, 0.0, 1.0, "", "a share of the year")
    if np.any(~(np.asarray(months, float) > 0)):
        raise BadInput("months", "must be above zero")
    return np.asarray(np.asarray(months, float) * DAYS_PER_MONTH * (1 - (1 - damp_factor) * share))
