"""The day when a running total reaches an amount, for a whole fleet at once.

Models give curves; this finds days. The total of car j since its start is
``K(t) - K(start) + slope (t - start)``: a part that follows the climate of its place and a steady
part. Both only ever grow, so halving the span of days finds the day (without a steady part, a look-up in
the sorted totals); within it K is a straight line.
"""

from collections.abc import Callable

import numpy as np
import numpy.typing as npt

from scheduler.vocabulary.errors import BadInput

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]


def total_at(cumulative: Floats, row_index: Ints, first_day: float, day: Floats) -> Floats:
    """K at ``day`` (n,), straight between whole days, held at the ends; NaN days give NaN.

    ``cumulative`` (p, d+1) in K's own unit, d >= 1, from ``first_day`` on.
    """
    last = cumulative.shape[1] - 1
    offset = np.minimum(np.maximum(day - first_day, 0.0), last)
    whole = np.minimum(_whole(offset), last - 1)
    left, right = cumulative[row_index, whole], cumulative[row_index, whole + 1]
    return np.asarray(left + (right - left) * (offset - whole))


def first_reach(
    cumulative: Floats,
    row_index: Ints,
    first_day: float,
    start_day: Floats,
    slope: Floats,
    amount: Floats,
) -> Floats:
    """The day (n,) when K(t) - K(start) + slope (t - start) reaches ``amount``.

    ``cumulative`` (p, d+1), d >= 1, does not decrease along the days; ``row_index`` picks its row
    for each car; ``slope`` >= 0 per day. An amount of nothing is reached at the start; NaN in, or
    a day beyond the table, is NaN. Raises BadInput naming the argument.
    """
    _check(cumulative, first_day, start_day, slope)
    origin = total_at(cumulative, row_index, first_day, start_day)
    span = start_day - first_day

    def total(index: Ints) -> Floats:
        return np.asarray(cumulative[row_index, index] - origin + slope * (index - span))

    low, last = _whole(span), cumulative.shape[1] - 1
    never = ~(total(np.full_like(low, last)) >= amount) | np.isnan(span)
    if slope.any():
        high = _halved(lambda index: total(index) >= amount, low, last)
    else:
        high = np.maximum(_looked_up(cumulative, row_index, origin + amount), low)
    day = first_day + _within(total, high, span, amount)
    day = np.where(amount <= 0.0, start_day, np.maximum(day, start_day))
    return np.where(never & ~(amount <= 0.0), np.nan, day)


def reach_each(
    cumulative: Floats,
    row_index: Ints,
    first_day: float,
    start_day: Floats,
    slope: Floats,
    amount: Floats,
) -> Floats:
    """``first_reach`` of several amounts of the same cars: ``amount`` (k, n), days (k, n).

    ``row_index``, ``start_day`` and ``slope`` broadcast to it; ``cumulative`` (p, d+1) as there.
    """
    rows, start, steady = np.empty(amount.shape, np.int64), np.empty(amount.shape), np.empty(amount.shape)
    rows[...], start[...], steady[...] = row_index, start_day, slope
    day = first_reach(cumulative, rows.ravel(), first_day, start.ravel(), steady.ravel(), amount.ravel())
    return day.reshape(amount.shape)


def _whole(offset: Floats) -> Ints:
    known = np.asarray(np.where(np.isnan(offset), 0.0, offset))
    return known.astype(np.int64)


def _halved(reached: Callable[[Ints], Bools], low: Ints, last: int) -> Ints:
    """The first position (n,) from ``low`` on at which a test that stays true is true; at most ``last``."""
    high = np.full_like(low, last)
    for _ in range(last.bit_length() + 1):
        middle = (low + high) // 2
        true = reached(middle)
        high, low = np.where(true, middle, high), np.where(true, low, np.minimum(middle + 1, high))
    return high


def _looked_up(cumulative: Floats, row_index: Ints, level: Floats) -> Ints:
    """The first position (n,) at which each car's row is at ``level``, straight from the sorted rows."""
    position = np.empty(level.size, np.int64)
    for index, row in enumerate(cumulative):
        here = row_index == index
        if here.any():
            position[here] = np.searchsorted(row, level[here])
    return np.asarray(np.minimum(position, cumulative.shape[1] - 1))


def _within(total: Callable[[Ints], Floats], index: Ints, span: Floats, amount: Floats) -> Floats:
    """Where on the straight line up to ``index`` the amount is reached; the line starts no earlier
    than the car's own start."""
    before = np.maximum(index - 1, 0)
    from_total, from_day = total(before), before.astype(float)
    late_start = span > from_day
    from_total, from_day = np.where(late_start, 0.0, from_total), np.where(late_start, span, from_day)
    rise = total(index) - from_total
    with np.errstate(invalid="ignore", divide="ignore"):
        share = np.where(rise > 0.0, (amount - from_total) / rise, 0.0)
    return np.asarray(from_day + np.minimum(np.maximum(share, 0.0), 1.0) * (index - from_day))


def _check(cumulative: Floats, first_day: float, start_day: Floats, slope: Floats) -> None:
    if cumulative.ndim != 2 or cumulative.shape[1] < 2:
        raise BadInput("cumulative", f"has shape {cumulative.shape}, needs (places, days + 1)")
    if (cumulative[:, 1:] < cumulative[:, :-1]).any():
        raise BadInput("cumulative", "decreases along the days")
    if (slope < 0.0).any():
        raise BadInput("slope", "is negative")
    last_day = first_day + cumulative.shape[1] - 1
    outside = (start_day < first_day) | (start_day > last_day)
    if outside.any():
        raise BadInput("start_day", f"{start_day[outside][0]:g} is outside {first_day:g} to {last_day:g}")
