"""Clock times of a zone as moments in UTC, where summer time tears a hole and folds an hour."""

from dataclasses import dataclass

import numpy as np

from scheduler.loggers.clean import Bools, Floats
from scheduler.vocabulary.errors import BadInput


@dataclass(frozen=True)
class InUtc:
    """Moments (m,); which clock times no clock of the zone ever showed; which it showed twice."""

    second: Floats
    skipped: Bools
    twice: Bools


def local_to_utc(local: Floats, change: Floats, offset: Floats) -> InUtc:
    """Clock times ``local`` (m,) in the order of the file, as seconds on a clock without a zone.

    ``change`` (c,) are the moments in UTC at which the zone's offset changes, rising; ``offset``
    (c + 1,) the seconds by which its clock is ahead, before, between and after them. An hour that the
    clock showed twice is its first showing until the file's own times step back within it. A time in
    the hour that was skipped is taken as the clock before the change would have shown it.
    BadInput: another number of offsets.
    """
    if offset.shape != (change.size + 1,):
        raise BadInput("offset", f"has {offset.size} values, needs one more than the {change.size} changes")
    before, after = offset[:-1], offset[1:]
    edge = change + np.maximum(before, after)  # from here on the new offset is the only one
    at = np.searchsorted(edge, local, side="right")
    second = local - offset[at]
    skipped, twice = np.zeros(local.size, bool), np.zeros(local.size, bool)
    for moment, old, new in zip(change, before, after, strict=True):
        inside = (local >= moment + min(old, new)) & (local < moment + max(old, new))
        if new > old:
            skipped |= inside
        else:
            twice |= inside
            second[inside] = local[inside] - np.where(_second_time(local, inside), new, old)
    return InUtc(second, skipped, twice)


def _second_time(local: Floats, inside: Bools) -> Bools:
    """Of the rows inside a fold, those after the file's times have stepped back."""
    rows = np.flatnonzero(inside)
    back = np.diff(local[rows], prepend=local[rows][:1]) < 0
    return np.asarray(np.cumsum(back) > 0)
