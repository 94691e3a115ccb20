"""Likelihood in words, on a stated ladder, and how likely trouble is after so long.

Equation (policy): the chance that standing has told on a part follows a logistic curve in the
logarithm of time, 10 % at the earliest published onset and 90 % at the latest:

    p(t) = 1 / (1 + exp(-k ln(t / t50))),  t50 = sqrt(earliest x latest),  k = 2 ln 9 / ln(latest / earliest)

Damp and regime shift t50, never the slope. Nothing here is a measured failure rate.
"""

from math import log, sqrt, tanh

from scheduler.vocabulary.constants import Constant, Standing
from scheduler.vocabulary.errors import BadInput

# Lower end of each rung, and its words (policy).
LADDER: tuple[tuple[float, str], ...] = (
    (0.90, "almost certain"),
    (0.65, "likely"),
    (0.35, "about even"),
    (0.10, "unlikely"),
    (0.0, "rare"),
)
AT_EARLIEST = Constant(0.10, "1", "chance of trouble at the earliest onset told", Standing.POLICY)
ODDS_AT_LATEST = (1 - AT_EARLIEST.value) / AT_EARLIEST.value


def in_words(chance: float) -> str:
    """The rung of the ladder that a chance (0 to 1; BadInput beyond) stands on."""
    if not 0.0 <= chance <= 1.0:
        raise BadInput("chance", f"{chance:g} is outside 0 to 1")
    return next(words for least, words in LADDER if chance >= least)


def chance_after(days: float, earliest_days: float, latest_days: float, slower: float = 1.0) -> float:
    """Chance (0 to 1) of trouble after ``days``; ``slower`` stretches time, as a good regime does.

    BadInput unless ``days`` >= 0, 0 < ``earliest_days`` < ``latest_days``, ``slower`` > 0.
    """
    if not (0 < earliest_days < latest_days and slower > 0):
        raise BadInput("earliest_days", "must be above zero and before the latest onset")
    if not days >= 0:
        raise BadInput("days", "must be zero or above")
    ratio = days / (sqrt(earliest_days * latest_days) * slower)
    if ratio == 0:
        return 0.0
    steepness = 2 * log(ODDS_AT_LATEST) / log(latest_days / earliest_days)
    return (1 + tanh(steepness * log(ratio) / 2)) / 2  # the same curve, free of overflow
