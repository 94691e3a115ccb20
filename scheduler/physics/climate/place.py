"""The air at one place, and a day's course rebuilt from its mean, least and greatest.

The course is a wave of the day and one of the half day, so that mean, minimum and maximum all hold::

    T(h) = mean + b cos(x) + c cos(2x)      x = 2 pi (h - peak) / 24
    b = (max - min) / 2     c = (max + min) / 2 - mean, held to |c| <= b / 4

Beyond that hold the wave would have two peaks; then the mean holds and the extremes give way.
Days that a logger or a weather file covers keep their own hours.
"""

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from scheduler.physics.climate.shelter import PEAK_HOUR, spell_share
from scheduler.physics.climate.vapour import daily_pressure_hpa, relative_humidity_pct
from scheduler.vocabulary.errors import BadInput

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

HOURS = np.arange(24.0)
_ONE_PEAK = 0.25  # |c| <= b/4 keeps d2T/dx2 of one sign at the peak and at the trough


def _no_days() -> Ints:
    return np.empty(0, np.int64)


def _no_hours() -> Floats:
    return np.empty((0, HOURS.size))


@dataclass(frozen=True, eq=False)  # one place is itself: what is kept of it is kept by identity
class Place:
    """The daily air at one place, shape (d,) each: day i is ``first_day + i``.

    ``floor_c`` is the heating's set point and ``rh_ceiling_pct`` the dehumidifier's, NaN without.
    ``seen`` (k,) are the positions of days with hours of their own: ``seen_c``, ``seen_rh_pct`` (k, 24).
    """

    name: str
    shelter: str
    first_day: int
    mean_c: Floats
    min_c: Floats
    max_c: Floats
    rh_pct: Floats
    floor_c: float = np.nan
    rh_ceiling_pct: float = np.nan
    peak_hour: float = PEAK_HOUR.value
    seen: Ints = field(default_factory=_no_days)
    seen_c: Floats = field(default_factory=_no_hours)
    seen_rh_pct: Floats = field(default_factory=_no_hours)

    @property
    def days(self) -> int:
        """How many days the place covers."""
        return len(self.mean_c)

    @property
    def end_day(self) -> int:
        """The day after the last one covered."""
        return self.first_day + self.days


@dataclass(frozen=True)
class Part:
    """A place for the days ``first <= day < end``."""

    place: Place
    first: int
    end: int

    def cut(self) -> Place:
        """The place for these days alone."""
        return span(self.place, self.first, self.end)


class Stays(Place):
    """The air around a car that stood in one place after another: each day's is that of its place then.

    ``parts`` follow one another without a gap. Name, shelter and set points are those of the last. Nothing
    is copied: arrays are put together when they are asked for, daily figures from those of each place.
    """

    parts: tuple[Part, ...]

    def __init__(self, parts: tuple[Part, ...]) -> None:
        last = parts[-1].place
        same = ("name", "shelter", "floor_c", "rh_ceiling_pct", "peak_hour")
        values = {name: getattr(last, name) for name in same} | {"parts": parts, "first_day": parts[0].first}
        for name, value in values.items():
            object.__setattr__(self, name, value)

    def _joined(self, name: str) -> Floats:
        return np.concatenate([getattr(part.cut(), name) for part in self.parts])

    @property
    def days(self) -> int:
        """How many days the places cover together."""
        return self.parts[-1].end - self.first_day

    @property
    def mean_c(self) -> Floats:
        """Daily means, (d,)."""
        return self._joined("mean_c")

    @property
    def min_c(self) -> Floats:
        """Daily minima, (d,)."""
        return self._joined("min_c")

    @property
    def max_c(self) -> Floats:
        """Daily maxima, (d,)."""
        return self._joined("max_c")

    @property
    def rh_pct(self) -> Floats:
        """Daily mean humidity, (d,)."""
        return self._joined("rh_pct")

    @property
    def seen(self) -> Ints:
        """Positions of days with hours of their own, (k,)."""
        return np.concatenate([part.cut().seen + part.first - self.first_day for part in self.parts])

    @property
    def seen_c(self) -> Floats:
        """Their hours, (k, 24)."""
        return self._joined("seen_c")

    @property
    def seen_rh_pct(self) -> Floats:
        """Their hours, (k, 24)."""
        return self._joined("seen_rh_pct")

    def between(self, first: int, end: int) -> tuple[Part, ...]:
        """The parts that touch the days ``first <= day < end``, cut to them."""
        cut = (Part(part.place, max(part.first, first), min(part.end, end)) for part in self.parts)
        return tuple(part for part in cut if part.first < part.end)


def wave(mean_c: Floats, min_c: Floats, max_c: Floats, angle: Floats) -> Floats:
    """Temperature at ``angle`` (a,) radians after the peak, for days (d,): (d, a) in °C. See module."""
    half_swing = (max_c - min_c) / 2.0
    skew = np.clip((max_c + min_c) / 2.0 - mean_c, -_ONE_PEAK * half_swing, _ONE_PEAK * half_swing)
    day = np.multiply.outer(half_swing, np.cos(angle)) + np.multiply.outer(skew, np.cos(2.0 * angle))
    return np.asarray(mean_c[:, None] + day)


def courses(place: Place) -> tuple[Floats, Floats]:
    """Hourly temperature °C and relative humidity % of every day of a place, (d, 24) each."""
    if isinstance(place, Stays):
        each = [courses(part.cut()) for part in place.parts]
        return np.concatenate([temp for temp, _ in each]), np.concatenate([rh for _, rh in each])
    angle = 2.0 * np.pi * (HOURS - place.peak_hour) / HOURS.size
    temp_c = wave(place.mean_c, place.min_c, place.max_c, angle)
    rh_pct = relative_humidity_pct(daily_pressure_hpa(temp_c, place.rh_pct), temp_c)
    rh_pct = np.fmin(rh_pct, place.rh_ceiling_pct)
    temp_c[place.seen], rh_pct[place.seen] = place.seen_c, place.seen_rh_pct
    return temp_c, rh_pct


def hourly(place: Place, day: float) -> tuple[Floats, Floats]:
    """Temperature °C and relative humidity % at the 24 hours of a day, (24,) each."""
    first = int(np.floor(day))
    temp_c, rh_pct = courses(span(place, first, first + 1))
    return temp_c[0], rh_pct[0]


def span(place: Place, first: int, end: int) -> Place:
    """The same place cut to the days ``first <= day < end``; BadInput where it does not reach."""
    if not place.first_day <= first < end <= place.end_day:
        raise BadInput(
            "day", f"{first} to {end} is not within {place.first_day} to {place.end_day} of {place.name}"
        )
    if isinstance(place, Stays):
        parts = place.between(first, end)
        return parts[0].cut() if len(parts) == 1 else Stays(parts)
    start, stop = first - place.first_day, end - place.first_day
    kept = (place.seen >= start) & (place.seen < stop)
    return Place(
        place.name,
        place.shelter,
        first,
        place.mean_c[start:stop],
        place.min_c[start:stop],
        place.max_c[start:stop],
        place.rh_pct[start:stop],
        place.floor_c,
        place.rh_ceiling_pct,
        place.peak_hour,
        place.seen[kept] - start,
        place.seen_c[kept],
        place.seen_rh_pct[kept],
    )


def coldest(place: Place, spell_k: float) -> Floats:
    """The coldest that each day may bring, (d,) °C: of a cold spell below the usual night as much as comes
    through to a car there, never below what the heating holds. Days with hours of their own keep their own
    minimum. ``spell_k``: how far the spell lies below the usual night outside.
    """
    if isinstance(place, Stays):
        return np.concatenate([coldest(part.cut(), spell_k) for part in place.parts])
    cold_c = np.fmax(place.min_c - spell_k * spell_share(place.shelter), place.floor_c)
    cold_c[place.seen] = place.seen_c.min(axis=1)
    return np.asarray(cold_c)
