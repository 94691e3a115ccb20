"""Minutes become hours: mean, least, greatest, and how much of the hour was covered.

Why hours: reaction rates grow with temperature, so that a mean over a day would miss what its warm
hours add; within an hour the air moves little, and a rate at the hour's mean is that of its minutes
to about a thousandth (measured in tests/scheduler/loggers/test_loggers.py; a day would lose five hundredths),
a hundredth of what any rate here is known to. Sixty times less to keep, and an hour is what a
place's own course is made of.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from scheduler.loggers.clean import Floats, Ints, typical_step

HOUR_S = 3600.0
LONGEST_BRIDGE_S = 3 * HOUR_S  # policy: air seldom turns within three hours, so a line may join two rows
_SLACK = 1e-6


@dataclass(frozen=True)
class Hours:
    """``hour`` (h,) since 1970, rising; ``mean``, ``least``, ``most`` (k, h), NaN where a column has none.

    ``covered`` (h,) is the share of the hour that rows of the first column speak for, 0 to 1.
    """

    hour: Ints
    mean: Floats
    least: Floats
    most: Floats
    covered: Floats


def hours_of(second: Floats, value: Floats) -> Hours:
    """The hours of clean rows ``second`` (n,) rising, ``value`` (k, n).

    A logger that writes less than once an hour is read along straight lines between its rows, where
    these are no more than three hours apart.
    """
    step = typical_step(second)
    if step > HOUR_S + _SLACK:
        second, value = _along_lines(second, value)
        step = HOUR_S
    hour, at = np.unique(np.floor(second / HOUR_S + _SLACK).astype(np.int64), return_inverse=True)
    parts = [_of_column(column, at, hour.size) for column in value]
    mean, least, most, count = (np.array(part) for part in zip(*parts, strict=True))
    each = HOUR_S if np.isnan(step) else step
    return Hours(hour, mean, least, most, np.minimum(count[0] * each / HOUR_S, 1.0))


def _of_column(column: Floats, at: Ints, size: int) -> tuple[Floats, Floats, Floats, Ints]:
    known = ~np.isnan(column)
    at, column = at[known], column[known]
    count = np.bincount(at, minlength=size)
    with np.errstate(invalid="ignore"):
        mean = np.bincount(at, column, size) / count
    least, most = np.full(size, np.inf), np.full(size, -np.inf)
    np.minimum.at(least, at, column)
    np.maximum.at(most, at, column)
    none = count == 0
    least[none] = most[none] = np.nan
    return np.asarray(np.clip(mean, least, most)), least, most, count  # a sum of equals rounds past them


def _along_lines(second: Floats, value: Floats) -> tuple[Floats, Floats]:
    """The rows and, between near ones, a moment in every hour on the line that joins them."""
    middle = np.arange(np.ceil(second[0] / HOUR_S), np.floor(second[-1] / HOUR_S) + 1) * HOUR_S
    after = np.clip(np.searchsorted(second, middle), 1, second.size - 1)
    near = second[after] - second[after - 1] <= LONGEST_BRIDGE_S + _SLACK
    new = np.setdiff1d(middle[near], second)
    moment = np.sort(np.concatenate([second, new]))
    lines = []
    for column in value:
        known = ~np.isnan(column)
        line = (
            np.interp(moment, second[known], column[known]) if known.any() else np.full(moment.size, np.nan)
        )
        lines.append(np.where(np.isin(moment, new), line, _given(moment, second, column)))
    return moment, np.array(lines)


def _given(moment: Floats, second: Floats, column: Floats) -> Floats:
    at = np.minimum(np.searchsorted(second, moment), second.size - 1)
    return np.where(second[at] == moment, column[at], np.nan)


def joined(files: Sequence[Hours]) -> Hours:
    """Several files of one place as one: of an hour told twice the better covered, else the earlier file's.

    So a file that overlaps the one before doubles nothing, whatever the order of their fetching.
    """
    hour = np.concatenate([file.hour for file in files])
    covered = np.concatenate([file.covered for file in files])
    number = np.repeat(np.arange(len(files)), [file.hour.size for file in files])
    order = np.lexsort((number, -covered, hour))
    first = np.ones(hour.size, bool)
    first[1:] = hour[order][1:] != hour[order][:-1]
    best = order[first]
    columns = (
        np.concatenate([getattr(f, name) for f in files], axis=1) for name in ("mean", "least", "most")
    )
    mean, least, most = (column[:, best] for column in columns)
    return Hours(hour[best], mean, least, most, covered[best])
