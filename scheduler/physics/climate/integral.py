"""The running total of a rate over a place's days: rates are averaged, temperatures never.

``K(t) = integral of k(T(t)) dt``; between two days the total is ``K(b) - K(a)``, whatever the start.
"""

from collections.abc import Callable, Sequence
from functools import lru_cache

import numpy as np

from scheduler.physics.climate.kept import daily
from scheduler.physics.climate.place import Floats, Place, wave
from scheduler.vocabulary.errors import BadInput

# The course is symmetric about its peak, so half a cycle is enough; eight midpoints integrate a
# doubling each 10 K over a 30 K swing to better than one part in a million.
LAST_TOTALS = 16  # the next car at the same place asks for the same ones
_HALF_CYCLE = np.pi * (np.arange(8) + 0.5) / 8


def cumulative(place: Place, rate: Callable[[Floats], Floats]) -> Floats:
    """Running total (d+1,) of ``rate`` (per day, of °C, any shape) from ``first_day`` on.

    Element i is the total from ``first_day`` to the start of ``first_day + i``.
    """
    return running(_daily(place, rate))


def _daily(place: Place, rate: Callable[[Floats], Floats]) -> Floats:
    """The rate averaged over each day's course, (d,)."""
    mean = rate(wave(place.mean_c, place.min_c, place.max_c, _HALF_CYCLE)).mean(axis=1)
    if place.seen.size:
        mean[place.seen] = rate(place.seen_c).mean(axis=1)
    if not np.isfinite(mean).all():
        raise BadInput("rate", f"is not a number somewhere on the days of {place.name}")
    return np.asarray(mean)


def running(amount: Floats) -> Floats:
    """The running total (.., d+1) of a daily amount (.., d), nought before the first day."""
    start = np.zeros((*amount.shape[:-1], 1))
    return np.concatenate([start, np.cumsum(amount, axis=-1)], axis=-1)


def totals(places: Sequence[Place], rate: Callable[[Floats], Floats], first: int, end: int) -> Floats:
    """Running totals (p, d+1) of ``rate`` from ``first`` to ``end``; the daily figures are kept.

    ``rate`` is a function of a module, always the same one: it is the name under which they are kept.
    """
    return _totals(tuple(places), rate, first, end)


@lru_cache(maxsize=LAST_TOTALS)
def _totals(places: tuple[Place, ...], rate: Callable[[Floats], Floats], first: int, end: int) -> Floats:
    return running(np.array([daily(p, rate, lambda part: _daily(part, rate), first, end) for p in places]))
