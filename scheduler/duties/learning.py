"""A car's own readings teach its own rate: the one rule for volts, gravities and pressures.

What happens: a table gives a rate with a range; this battery, this tyre has its own. Each reading
says how much was lost over how long. The rule is the conjugate normal update (Bayesian linear
regression through the origin), the same as least squares with the table as one more observation::

    change_j = rate · elapsed_j + noise_j          rate ~ N(m0, s0²)     noise_j ~ N(0, sd_j²)
    1/s²  = 1/s0² + sum elapsed_j² / sd_j²
    m     = s² (m0/s0² + sum elapsed_j change_j / sd_j²)

Outlier guard: each reading is compared with what all the others (and the table) foretell for it;
the worst beyond 3.5 standard deviations is set aside, then all are compared again. At most half of
a car's readings are ever set aside (one, where there is one): a guard that drops more is no guard.

``elapsed`` may be days (the rate is a loss per day) or an expected loss (the rate is a multiplier).
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scheduler.vocabulary.errors import BadInput

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]

GUARD_SD = 3.5  # policy: a true reading strays so far once in two thousand
NEWTON_STEPS = 8  # more than the fit of one rate needs from any start within its prior
NINETY_PERCENT_SD = 1.6449  # half-width of the central 90 % of a normal, in standard deviations


def update_rate(
    prior_mean: Floats,
    prior_sd: Floats,
    elapsed: Floats,
    observed_change: Floats,
    noise_sd: Floats,
    row: Ints,
    n: int,
) -> tuple[Floats, Floats, Bools]:
    """Each car's own rate: mean (n,), standard deviation (n,), and which readings (m,) counted.

    ``elapsed``, ``observed_change``, ``noise_sd`` and ``row`` (m,) are ragged readings, ``row`` the
    car each belongs to; ``prior_mean`` and ``prior_sd`` (n,). A car without readings keeps its prior.
    Raises BadInput naming the argument.

    >>> elapsed, change = np.array([30.0, 60.0]), np.array([0.06, 0.12])
    >>> mean, sd, used = update_rate(
    ...     np.array([0.001]), np.array([0.001]), elapsed, change, np.full(2, 0.01), np.zeros(2, int), 1
    ... )
    >>> round(float(mean[0]), 4), used.tolist()
    (0.002, [True, True])
    """
    _check(prior_sd, elapsed, observed_change, noise_sd, row, n)
    weight = 1.0 / noise_sd**2
    informs, says = elapsed**2 * weight, elapsed * observed_change * weight
    used = np.ones(elapsed.size, bool)
    spare = np.maximum(np.bincount(row, minlength=n) // 2, 1)
    while True:
        precision = 1.0 / prior_sd**2 + np.bincount(row, informs * used, minlength=n)
        mean = (prior_mean / prior_sd**2 + np.bincount(row, says * used, minlength=n)) / precision
        others = precision[row] - informs * used
        predicted = elapsed * (mean[row] * precision[row] - says * used) / others
        stray = np.abs(observed_change - predicted) / np.sqrt(noise_sd**2 + elapsed**2 / others)
        stray = np.where(used & (spare[row] > 0), stray, 0.0)
        worst = np.zeros(n)
        np.maximum.at(worst, row, stray)
        dropped = (stray > GUARD_SD) & (stray == worst[row])
        if not dropped.any():
            return mean, 1.0 / np.sqrt(precision), used
        used &= ~dropped
        spare = spare - np.bincount(row[dropped], minlength=n)


@dataclass(frozen=True)
class Line:
    """What readings teach of a loss at the start and a rate: ``mean`` (2, n) of both, ``sd`` (2, n), their
    covariance ``cov`` (n,), and which readings (m,) counted."""

    mean: Floats
    sd: Floats
    cov: Floats
    used: Bools


def update_line(
    prior_mean: Floats,
    prior_sd: Floats,
    elapsed: Floats,
    observed_change: Floats,
    noise_sd: Floats,
    row: Ints,
    from_start: Floats,
) -> Line:
    """As ``update_rate``, with what was missing at the start learned beside the rate, in one regression.

    ``prior_mean`` and ``prior_sd`` (2, n): of the missing share, of the rate; ``elapsed``,
    ``observed_change``, ``noise_sd``, ``row`` (m,) as there; ``from_start`` (m,): 1 where the change counts
    from a start of which some may have been missing, else 0. Raises BadInput naming the argument.

    >>> one, days, change = np.ones(4), np.array([10.0, 20.0, 30.0, 40.0]), np.array([0.15, 0.25, 0.35, 0.45])
    >>> wide = np.array([[1.0], [1.0]])
    >>> line = update_line(np.zeros((2, 1)), wide, days, change, 0.001 * one, np.zeros(4, int), one)
    >>> line.mean[:, 0].round(3).tolist()
    [0.05, 0.01]
    """
    n = prior_mean.shape[1]
    _check(prior_sd, elapsed, observed_change, noise_sd, row, n)
    weight = 1.0 / noise_sd**2
    terms = np.array([from_start**2, from_start * elapsed, elapsed**2]) * weight
    says = np.array([from_start, elapsed]) * observed_change * weight
    base = np.array([1.0 / prior_sd[0] ** 2, np.zeros(n), 1.0 / prior_sd[1] ** 2])
    base_says = prior_mean / prior_sd**2
    used = np.ones(elapsed.size, bool)
    spare = np.maximum(np.bincount(row, minlength=n) // 2, 1)
    while True:
        precision = base + np.array([np.bincount(row, term * used, minlength=n) for term in terms])
        total = base_says + np.array([np.bincount(row, say * used, minlength=n) for say in says])
        others = precision[:, row] - terms * used
        mean, spread = _solved(others, total[:, row] - says * used)
        predicted = from_start * mean[0] + elapsed * mean[1]
        doubt = from_start**2 * spread[0] + 2.0 * from_start * elapsed * spread[1] + elapsed**2 * spread[2]
        stray = np.abs(observed_change - predicted) / np.sqrt(noise_sd**2 + doubt)
        stray = np.where(used & (spare[row] > 0), stray, 0.0)
        worst = np.zeros(n)
        np.maximum.at(worst, row, stray)
        dropped = (stray > GUARD_SD) & (stray == worst[row])
        if not dropped.any():
            mean, spread = _solved(precision, total)
            return Line(mean, np.sqrt(spread[[0, 2]]), spread[1], used)
        used &= ~dropped
        spare = spare - np.bincount(row[dropped], minlength=n)


def _solved(precision: Floats, says: Floats) -> tuple[Floats, Floats]:
    """Mean (2, k) and covariance (3, k: first, mixed, second) of precisions (3, k) and weights (2, k)."""
    first, mixed, second = precision
    determinant = first * second - mixed**2
    spread = np.array([second, -mixed, first]) / determinant
    mean = np.array([spread[0] * says[0] + spread[1] * says[1], spread[1] * says[0] + spread[2] * says[1]])
    return mean, spread


def positive_rate(
    prior: Floats, elapsed: Floats, observed_change: Floats, noise_sd: Floats, row: Ints
) -> tuple[Floats, Floats]:
    """A rate that is above nought: its likely value (n,) and the standard deviation of its logarithm (n,).

    ``prior`` (3, n): low, likely, high, the central 90 % of a log-normal, above nought; ``elapsed``,
    ``observed_change``, ``noise_sd`` and ``row`` (m,) as in ``update_rate``, strays left out. The mode of the
    posterior by Gauss and Newton, in the logarithm. Raises BadInput naming the argument.

    >>> elapsed, change = np.array([30.0, 60.0]), np.array([0.06, 0.12])
    >>> prior = np.array([[0.0005], [0.001], [0.002]])
    >>> rate, log_sd = positive_rate(prior, elapsed, change, np.full(2, 0.001), np.zeros(2, int))
    >>> round(float(rate[0]), 4), round(float(log_sd[0]), 3)
    (0.002, 0.007)
    """
    n = prior.shape[1]
    log_sd = np.log(prior[2] / prior[0]) / (2.0 * NINETY_PERCENT_SD)
    _check(log_sd, elapsed, observed_change, noise_sd, row, n)
    weight = 1.0 / noise_sd**2
    informs = np.bincount(row, elapsed**2 * weight, minlength=n)
    says = np.bincount(row, elapsed * observed_change * weight, minlength=n)
    middle, log_rate = np.log(prior[1]), np.log(prior[1])
    for _ in range(NEWTON_STEPS):
        rate = np.exp(log_rate)
        precision = 1.0 / log_sd**2 + rate**2 * informs
        step = ((middle - log_rate) / log_sd**2 + rate * (says - rate * informs)) / precision
        log_rate = log_rate + np.clip(step, -1.0, 1.0)
    rate = np.exp(log_rate)
    return rate, 1.0 / np.sqrt(1.0 / log_sd**2 + rate**2 * informs)


def _check(
    prior_sd: Floats, elapsed: Floats, observed_change: Floats, noise_sd: Floats, row: Ints, n: int
) -> None:
    if not (prior_sd > 0.0).all():
        raise BadInput("prior_sd", "must be above zero")
    for name, column in (("elapsed", elapsed), ("observed_change", observed_change), ("noise_sd", noise_sd)):
        if column.shape != row.shape:
            raise BadInput(name, f"has {column.size} rows, row has {row.size}")
        if not np.isfinite(column).all():
            raise BadInput(name, "holds a missing value")
    if not (noise_sd > 0.0).all():
        raise BadInput("noise_sd", "must be above zero")
    if row.size and not (row.min() >= 0 and row.max() < n):
        raise BadInput("row", f"points outside 0 to {n - 1}")
