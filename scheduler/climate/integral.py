"""The running total of a rate over a place's days: rates are averaged, temperatures never.

``K(t) = integral of k(T(t)) dt``; between two days the total is ``K(b) - K(a)``, whatever the start.
"""

from collections.abc import Callable, Sequence

import numpy as np

from scheduler.climate.place import Floats, Place, wave
from scheduler.errors import BadInput

# The course is symmetric about its peak, so half a cycle is enough; eight midpoints integrate a
# doubling each 10 K over a 30 K swing to better than one part in a million.
_HALF_CYCLE = np.pi * (np.arange(8) + 0.5) / 8


def cumulative(place: Place, rate: Callable[[Floats], Floats]) -> Floats:
    """Running total (d+1,) of ``rate`` (per day, of °C, any shape) from ``first_day`` on.

    Element i is the total from ``first_day`` to the start of ``first_day + i``.
    """
    daily = rate(wave(place.mean_c, place.min_c, place.max_c, _HALF_CYCLE)).mean(axis=1)
    if place.seen.size:
        daily[place.seen] = rate(place.seen_c).mean(axis=1)
    if not np.isfinite(daily).all():
        raise BadInput("rate", f"is not a number somewhere on the days of {place.name}")
    return np.concatenate([[0.0], np.cumsum(daily)])


def stack(places: Sequence[Place], rate: Callable[[Floats], Floats]) -> Floats:
    """Running totals (p, d+1) of several places that cover the same days."""
    spans = {(place.first_day, place.days) for place in places}
    if len(spans) != 1:
        raise BadInput("places", f"must cover the same days, cover {sorted(spans)}")
    return np.array([cumulative(place, rate) for place in places])
