"""Daily figures of a place, worked out once and kept for as long as the place lives.

A figure of a day depends on that day's air alone, so the days are worked out in blocks the first
time that anybody asks for them; every later forecast of any car there only looks them up.
"""

import weakref
from collections.abc import Callable, Hashable, MutableMapping
from typing import Any

import numpy as np
import numpy.typing as npt

from scheduler.physics.climate.place import Part, Place, Stays, span

Figures = npt.NDArray[Any]

BLOCK_DAYS = 1024  # three years or so: enough for one car, little to work out

_kept: MutableMapping[Place, dict[Hashable, Figures]] = weakref.WeakKeyDictionary()


def daily(place: Place, key: Hashable, rule: Callable[[Place], Figures], first: int, end: int) -> Figures:
    """``rule`` of the days ``first <= day < end``: (.., end - first).

    ``rule`` gives one figure a day (.., d) for a place of d days and is the same for a ``key``.
    BadInput where the place does not reach.
    """
    if not place.first_day <= first < end <= place.end_day:
        span(place, first, end)  # says what is wrong
    if isinstance(place, Stays):
        parts = place.between(first, end)
        return np.concatenate([daily(part.place, key, rule, part.first, part.end) for part in parts], axis=-1)
    blocks = range((first - place.first_day) // BLOCK_DAYS, (end - 1 - place.first_day) // BLOCK_DAYS + 1)
    days = np.concatenate([_block(place, key, rule, block) for block in blocks], axis=-1)
    offset = first - place.first_day - blocks[0] * BLOCK_DAYS
    return np.asarray(days[..., offset : offset + end - first])


def _block(place: Place, key: Hashable, rule: Callable[[Place], Figures], block: int) -> Figures:
    kept = _kept.setdefault(place, {})
    if (key, block) not in kept:
        begins = place.first_day + block * BLOCK_DAYS
        kept[key, block] = rule(span(place, begins, min(begins + BLOCK_DAYS, place.end_day)))
    return kept[key, block]


def once(place: Place, key: Hashable, rule: Callable[[Place], Figures]) -> Figures:
    """``rule`` of the whole place, one figure a day (.., d), worked out once."""
    if isinstance(place, Stays):
        return np.concatenate([_days_of(part, once(part.place, key, rule)) for part in place.parts], axis=-1)
    kept = _kept.setdefault(place, {})
    if key not in kept:
        kept[key] = rule(place)
    return kept[key]


def _days_of(part: Part, figures: Figures) -> Figures:
    return np.asarray(figures[..., part.first - part.place.first_day : part.end - part.place.first_day])
