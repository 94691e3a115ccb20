"""How each duty was kept, in numbers."""

from dataclasses import dataclass

import numpy as np

from scheduler.past.waits import CARE, ENDINGS, OPEN, Days, Ints, Waits


@dataclass(frozen=True)
class Counts:
    """Of each duty (s,): times asked for; of these done in the window; of these beyond it, however ended.

    ``beyond_days``: days beyond the window in all, ``longest_days`` of one wait, ``open_days`` of the wait
    that is still open. ``held_days``: due, but on hold. ``unknown_days``: the record says nothing.
    ``ended`` (s, endings): waits by what ended them, as in ``ENDINGS``.
    """

    asked: Ints
    in_window: Ints
    late: Ints
    beyond_days: Ints
    longest_days: Ints
    open_days: Ints
    held_days: Ints
    unknown_days: Ints
    ended: Ints


def count(days: Days, waits: Waits) -> Counts:
    """The numbers of each duty over the days; ``waits`` are those of the days.

    >>> import numpy as np
    >>> from scheduler.past.waits import waits_of
    >>> day, due = np.array([1.0, 2, 3, 4, 4]), np.array([[2.0, 2, 2, 2, 2]])
    >>> no, known = np.zeros((1, 5), bool), np.array([[False, True, True, True, True]])
    >>> days = Days(day, due, due, no, known, np.zeros((1, 4), bool), np.zeros(4, bool), np.zeros(4, bool))
    >>> told = count(days, waits_of(days))
    >>> told.asked, told.beyond_days, told.open_days, told.unknown_days
    (array([1]), array([2]), array([2]), array([1]))
    """
    n, beyond = len(days.due), waits.beyond_days
    longest, open_days = np.zeros(n, np.int64), np.zeros(n, np.int64)
    np.maximum.at(longest, waits.duty, beyond)
    still = waits.ending == OPEN
    open_days[waits.duty[still]] = beyond[still]
    ended = np.bincount(waits.duty * len(ENDINGS) + waits.ending, minlength=n * len(ENDINGS))
    in_time = (beyond == 0) & (waits.ending == CARE)
    return Counts(
        asked=_of(waits.duty, n),
        in_window=_of(waits.duty[in_time], n),
        late=_of(waits.duty[beyond > 0], n),
        beyond_days=days.beyond[:, :-1].sum(axis=1),
        longest_days=longest,
        open_days=open_days,
        held_days=(days.wanted & days.held)[:, :-1].sum(axis=1),
        unknown_days=(~days.known)[:, :-1].sum(axis=1),
        ended=ended.reshape(n, len(ENDINGS)),
    )


def _of(duty: Ints, n: int) -> Ints:
    return np.bincount(duty, minlength=n)
