"""Waits: from the morning on which a duty is asked for until something ends it.

A day is looked at in its morning, by what was known the evening before. A duty is asked for on each
morning from its due day on, and late on each morning after the last day of its window. A wait ends with
the care that was asked for, though the duty be asked for again the next morning; or when it is not asked
for any more, by whatever came first of: a hold, a move, other care. Else it passed by itself, as a frost
does. What is still asked for on the last evening is open. A day of which nothing is known, and one on
which the duty is on hold, is no day of waiting.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scheduler.vocabulary.errors import BadInput

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]

ENDINGS = ("care", "hold", "move", "other care", "passed", "open")
CARE, HOLD, MOVE, OTHER, PASSED, OPEN = range(len(ENDINGS))


@dataclass(frozen=True)
class Days:
    """Duties (s) over mornings (d), and in a last column the evening of the last day.

    ``day`` (d + 1,): ordinals, the last twice; ``due``, ``late`` (s, d + 1): as each saw them, NaN for
    never; ``held`` (s, d + 1); ``known`` (s, d + 1): whether the record says anything of that day.
    ``cared`` (s, d): the care that the duty asks for came in the day; ``moved``, ``visited`` (d,): the car
    went to another place; anybody wrote anything of the car.
    """

    day: Floats
    due: Floats
    late: Floats
    held: Bools
    known: Bools
    cared: Bools
    moved: Bools
    visited: Bools

    def __post_init__(self) -> None:
        s, d = self.cared.shape
        columns: dict[str, tuple[int, ...]] = dict.fromkeys(("due", "late", "held", "known"), (s, d + 1))
        columns |= {"day": (d + 1,), "moved": (d,), "visited": (d,)}
        for name, needed in columns.items():
            if getattr(self, name).shape != needed:
                raise BadInput(name, f"has shape {getattr(self, name).shape}, needs {needed}")

    @property
    def wanted(self) -> Bools:
        """Where a due day has come, on hold or not, of what is known (s, d + 1)."""
        return np.asarray(self.known & (np.floor(self.due) <= self.day))

    @property
    def asked(self) -> Bools:
        """Where a duty is asked for (s, d + 1)."""
        return self.wanted & ~self.held

    @property
    def beyond(self) -> Bools:
        """Where it is asked for after the last day of its window (s, d + 1)."""
        return np.asarray(self.asked & (np.floor(self.late) < self.day))


@dataclass(frozen=True)
class Waits:
    """Every wait, by duty, then by day, (m,) each.

    ``duty``: row of the duty; ``since``: first day asked for; ``beyond_since``: first day after the window,
    NaN if it stayed within; ``until``: the day that ended it; ``beyond_days``: mornings after the window;
    ``ending``: position in ``ENDINGS``.
    """

    duty: Ints
    since: Floats
    beyond_since: Floats
    until: Floats
    beyond_days: Ints
    ending: Ints


def waits_of(days: Days) -> Waits:
    """The waits of each duty.

    >>> import numpy as np
    >>> day = np.array([1.0, 2, 3, 4, 5, 5])  # five mornings and the last evening
    >>> due = np.array([[2.0, 2, 2, 2, 9, 9]])  # due on day 2; after the care of day 4 not before day 9
    >>> no, cared = np.zeros((1, 6), bool), np.array([[False, False, False, True, False]])
    >>> known, quiet = np.ones((1, 6), bool), np.zeros(5, bool)
    >>> waits = waits_of(Days(day, due, due + 1, no, known, cared, quiet, cared[0]))
    >>> waits.since, waits.beyond_since, waits.until, waits.beyond_days
    (array([2.]), array([4.]), array([4.]), array([1]))
    >>> ENDINGS[waits.ending[0]]
    'care'
    """
    asked, beyond = days.asked, days.beyond[:, :-1]
    mornings, next_asked = asked[:, :-1], asked[:, 1:]
    ends = mornings & (~next_asked | days.cared)
    ends[:, -1] = mornings[:, -1]
    begins = mornings & ~np.pad(mornings & ~ends, ((0, 0), (1, 0)))[:, :-1]
    duty, first = np.nonzero(begins)
    last = np.nonzero(ends)[1]  # in the same order: each that begins ends before the next of its duty begins
    total = np.pad(np.cumsum(beyond, axis=1), ((0, 0), (1, 0)))
    beyond_days: Ints = total[duty, last + 1] - total[duty, first]
    first_beyond = _next_true(beyond)[duty, first]
    return Waits(
        duty,
        days.day[first],
        np.where(beyond_days > 0, days.day[first_beyond], np.nan),
        days.day[last],
        beyond_days,
        _endings(days, next_asked, duty, last),
    )


def _next_true(flags: Bools) -> Ints:
    """For each position along rows (s, d) that of the next true one, itself included; the last for none."""
    width = flags.shape[1]
    at = np.where(flags, np.arange(width), width - 1)
    return np.minimum.accumulate(at[:, ::-1], axis=1)[:, ::-1]


def _endings(days: Days, next_asked: Bools, duty: Ints, last: Ints) -> Ints:
    """What ended each wait (m,) on its last day."""
    open_still = (last == days.cared.shape[1] - 1) & next_asked[duty, last]
    reasons = [
        days.cared[duty, last],
        open_still,
        days.held[duty, last + 1],
        days.moved[last],
        days.visited[last],
    ]
    return np.select(reasons, [CARE, OPEN, HOLD, MOVE, OTHER], PASSED).astype(np.int64)
