"""A battery left low grows hard: lead sulphate recrystallises and no longer takes charge.

What happens: discharge makes fine lead sulphate; left for weeks it grows into coarse crystals that
charging hardly dissolves. The lower and the longer, the worse: habitual over-discharge,
undercharge and long standing discharged are the causes (US Army TM 10-6140-200-14 para 1-10).
No source gives a rate, so the mechanism is a clock: days that have passed below the line.
Sources put the onset at 80 % (supplier's advice, second-hand) and hard harm at 12.06 V, a quarter
of full (trailer maker's handbook); the line itself is policy.
"""

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

SOURCE = (
    "US Army TM 10-6140-200-14 para 1-10 (causes); supplier's advice and a trailer maker's handbook (levels)"
)


def days_below(crossing_day: npt.ArrayLike, day: npt.ArrayLike) -> Floats:
    """Days spent below the line by ``day`` when it was crossed on ``crossing_day``; NaN: never, so 0.

    Both are ordinals; shapes broadcast.
    """
    since = np.asarray(day, float) - np.asarray(crossing_day, float)
    return np.asarray(np.fmax(since, 0.0))
