"""Rows of a logger in order of time, each moment once, without what no sensor could mean.

Nothing is repaired in silence: every kind of fault is counted, with the first row that has it.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scheduler.vocabulary.errors import BadInput

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]

MEAN, FIRST = "mean", "first"
GAP_STEPS = 2.5  # policy: a gap begins where two rows that should be there are not
STUCK_S = 3 * 86400.0  # policy: no air and no battery shows one and the same figure for three days
STUCK_ROWS = 24  # policy: fewer rows than these say nothing about a sensor
NOWHERE = -1


@dataclass(frozen=True)
class Fault:
    """How many rows have a fault, and the position of the first of them in what was given, -1: none."""

    count: int
    first: int

    @classmethod
    def of(cls, where: Bools) -> "Fault":
        """The fault of the rows marked in ``where`` (m,)."""
        return cls(int(where.sum()), int(where.argmax()) if where.any() else NOWHERE)


@dataclass(frozen=True)
class Cleaned:
    """``second`` (n,) rising; ``value`` (k, n), NaN where a column has none; what was wrong before.

    ``outside`` has a fault for each column; ``stuck`` (s, 2) begins and ends of spells at one value.
    """

    second: Floats
    value: Floats
    backwards: Fault
    repeated: Fault  # the same moment with the same values
    differing: Fault  # the same moment with other values
    outside: tuple[Fault, ...]
    empty: Fault
    stuck: Floats


def clean(
    second: npt.ArrayLike,
    value: npt.ArrayLike,
    low: npt.ArrayLike,
    high: npt.ArrayLike,
    keep: str = MEAN,
) -> Cleaned:
    """Rows ``second`` (m,), ``value`` (k, m) in the order of the file, within ``low``, ``high`` (k,).

    Values outside their limits are taken out, rows without any value or moment too. Of a moment told
    twice with other values ``keep`` gives the mean or the first. BadInput for shapes that do not fit.
    """
    second, value = np.asarray(second, float), np.asarray(value, float)
    low, high = np.asarray(low, float), np.asarray(high, float)
    if value.ndim != 2 or second.shape != value.shape[1:]:  # a row a quantity, a column a moment
        raise BadInput("value", f"has shape {value.shape}, second has {second.shape}")
    if low.shape != value.shape[:1] or high.shape != value.shape[:1]:
        raise BadInput("low", f"needs a limit a column, ({value.shape[0]},)")
    out = (value < low[:, None]) | (value > high[:, None])
    value = np.where(out, np.nan, value)
    empty = np.isnan(value).all(axis=0) | ~np.isfinite(second)
    row = np.flatnonzero(~empty)
    kept = second[row]
    back = np.zeros(second.size, bool)
    back[row[1:]] = np.diff(kept) < 0
    order = np.argsort(kept, kind="stable")
    row, kept = row[order], kept[order]
    once, merged, same, other = _each_once(kept, value[:, row], row, second.size, keep)
    return Cleaned(
        once,
        merged,
        Fault.of(back),
        Fault.of(same),
        Fault.of(other),
        tuple(Fault.of(o) for o in out),
        Fault.of(empty),
        _stuck(once, merged),
    )


def _each_once(
    second: Floats, value: Floats, row: Ints, rows: int, keep: str
) -> tuple[Floats, Floats, Bools, Bools]:
    """Each moment once; the rows (of all given) that said the same again, and those that said other."""
    same, other = np.zeros(rows, bool), np.zeros(rows, bool)
    again = np.zeros(second.size, bool)
    again[1:] = second[1:] == second[:-1]
    if not again.any():
        return second, value, same, other
    group = np.cumsum(~again) - 1
    first = np.flatnonzero(~again)
    equal = ((value == value[:, first[group]]) | (np.isnan(value) & np.isnan(value[:, first[group]]))).all(0)
    same[row[again & equal]] = True
    other[row[again & ~equal]] = True
    if keep == FIRST:
        return second[first], value[:, first], same, other
    return second[first], np.array([_mean(column, group, first.size) for column in value]), same, other


def _mean(column: Floats, group: Ints, size: int) -> Floats:
    known = ~np.isnan(column)
    count = np.bincount(group[known], minlength=size)
    with np.errstate(invalid="ignore"):
        return np.asarray(np.bincount(group[known], column[known], size) / count)


def _stuck(second: Floats, value: Floats) -> Floats:
    """Spells (s, 2) in which the first column shows one figure for longer than any sensor would."""
    if second.size < STUCK_ROWS:
        return np.empty((0, 2))
    edge = np.flatnonzero(np.diff(value[0]) != 0)  # NaN differs from itself
    begin, end = np.concatenate([[0], edge + 1]), np.concatenate([edge, [second.size - 1]])
    long = (second[end] - second[begin] >= STUCK_S) & (end - begin >= STUCK_ROWS)
    return np.column_stack([second[begin[long]], second[end[long]]])


def typical_step(second: Floats) -> float:
    """The usual time between rows, s: the median step of ``second`` (m,); NaN for fewer than two rows."""
    return float(np.median(np.diff(second))) if second.size > 1 else float("nan")


def gaps_of(second: Floats, least_s: float = 0.0) -> Floats:
    """Gaps (g, 2) from the last row before to the first after, longer than ``least_s``, in order.

    ``second`` (m,): moments in seconds, rising.
    """
    step = np.diff(second)
    longer = step > max(GAP_STEPS * typical_step(second), least_s) if step.size else np.empty(0, bool)
    return np.column_stack([second[:-1][longer], second[1:][longer]])
