"""The air around a car through all the places where it stood."""

from collections.abc import Sequence
from functools import lru_cache

from scheduler.physics.climate import Part, Place, Stays


def air_of(stays: Sequence[tuple[float, Place]]) -> Place:
    """One place out of those where a car stood, each from its day on; they reach over the same days."""
    kept: list[tuple[float, Place]] = []
    for since, place in stays:
        if not kept or kept[-1][1] is not place:
            kept.append((since, place))
    return kept[0][1] if len(kept) == 1 else _joined(tuple(kept))


@lru_cache(maxsize=4096)  # cars that moved together breathe the same air, and a place is itself
def _joined(stays: tuple[tuple[float, Place], ...]) -> Place:
    first, end = stays[0][1].first_day, stays[0][1].end_day
    begins = [first, *(int(min(max(since, first), end)) for since, _ in stays[1:])]
    places = zip(begins, [*begins[1:], end], (place for _, place in stays), strict=True)
    parts = tuple(Part(place, begin, until) for begin, until, place in places if begin < until)
    return parts[0].place if len(parts) == 1 else Stays(parts)
