"""When a duty that a keeper added falls due: on the day that was set, else an interval after it was done."""

import numpy as np
import numpy.typing as npt

from scheduler.duties.windows import Floats


def own_dates(
    set_for: npt.ArrayLike,
    counted_from: npt.ArrayLike,
    interval_days: npt.ArrayLike,
    remind_days: npt.ArrayLike,
) -> tuple[Floats, Floats]:
    """Early and due days of own duties, ordinals (n,) each; NaN where nothing is to come.

    ``set_for``: the day that was set, NaN where none is, or where it was done since; ``counted_from``: when
    it was last done, else when it began. ``early`` is ``remind_days`` before. An own duty is late on its day.

    >>> early, due = own_dates([100.0, np.nan, np.nan], [50.0] * 3, [365.0, 30.0, np.nan], [30.0, 5.0, 5.0])
    >>> early.tolist(), due.tolist()
    ([70.0, 75.0, nan], [100.0, 80.0, nan])
    """
    day = np.asarray(set_for, float)
    again = np.asarray(counted_from, float) + np.asarray(interval_days, float)
    due = np.where(np.isnan(day), np.floor(again), day)
    return due - np.asarray(remind_days, float), due
