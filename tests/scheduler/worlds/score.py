"""How well dates hold in a simulated world: how often the true day lies within."""

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class Score:
    """``coverage``: how often the true day lay between early and late; the middle error in days, and as a
    share of the true wait; ``drawn_on``: how many cars are told that something draws on their battery."""

    coverage: float
    error_days: float
    error_share: float
    drawn_on: float = 0.0


def score_dates(slow, likely, fast, truth, begin, drawn_on=0.0):
    """The score of dates (n,); NaN: beyond the horizon, so later than any day."""
    slow, likely, fast = (np.where(np.isnan(day), np.inf, day) for day in (slow, likely, fast))
    error = np.abs(likely - truth)
    return Score(
        float(((fast <= truth) & (truth <= slow)).mean()),
        float(np.median(error)),
        float(np.median(error / np.maximum(truth - begin, 1.0))),
        float(drawn_on),
    )
