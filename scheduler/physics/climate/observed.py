"""Real hours from a logger or a weather file in place of the normals, for the days they cover."""

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from scheduler.physics.climate.place import HOURS, Floats, Ints, Place, courses, span
from scheduler.physics.climate.shelter import through_walls
from scheduler.physics.climate.vapour import saturation_pressure_hpa
from scheduler.vocabulary.errors import BadInput

_ENOUGH_HOURS = 18  # policy: a day with more than a quarter missing keeps its normals
_HOURS_A_DAY = HOURS.size
_NUDGE = 1e-6  # h; a time written as a day fraction may fall a rounding error before its hour


def observed(
    place: Place, day: npt.ArrayLike, temp_c: npt.ArrayLike, rh_pct: npt.ArrayLike, outdoors: bool = False
) -> Place:
    """The place with its own measured air on the days that (m,) records cover.

    ``day`` are ordinals with fractions, not decreasing; °C; % (NaN where only temperature was
    logged: the hour keeps the normal humidity). Several records in an hour are averaged; gaps
    within a day are bridged; days with fewer than 18 hours, or outside the place, are left alone.
    ``outdoors``: the records are of the air outside (a weather file), and the shelter stands between.
    """
    day, temp_c, rh_pct = _checked(day, temp_c, rh_pct)
    hour = np.floor(day * _HOURS_A_DAY + _NUDGE).astype(np.int64) - place.first_day * _HOURS_A_DAY
    inside = (hour >= 0) & (hour < place.days * _HOURS_A_DAY)
    if not inside.any():
        return place
    hour, temp_c, rh_pct = hour[inside], temp_c[inside], rh_pct[inside]
    first, end = int(hour[0]) // _HOURS_A_DAY, int(hour[-1]) // _HOURS_A_DAY + 1
    count, mean_c = _averaged(hour - first * _HOURS_A_DAY, temp_c, end - first)
    _, mean_rh = _averaged(hour - first * _HOURS_A_DAY, rh_pct, end - first)
    full = np.flatnonzero((count > 0).sum(axis=1) >= _ENOUGH_HOURS)
    usual = courses(span(place, place.first_day + first, place.first_day + end))[1]
    mean_c, mean_rh = _bridged(mean_c), np.where(np.isnan(mean_rh), usual, mean_rh)
    if outdoors:
        mean_c, mean_rh = _indoors(place, mean_c, mean_rh)
    return _with_days(place, first + full, mean_c[full], mean_rh[full])


def _indoors(place: Place, temp_c: Floats, rh_pct: Floats) -> tuple[Floats, Floats]:
    """The hours (days, 24) inside from those outside: damped, heated, dried; the same water in the air."""
    vapour_hpa = saturation_pressure_hpa(temp_c) * rh_pct / 100.0
    inside_c = through_walls(place.shelter, temp_c.ravel()).reshape(temp_c.shape)
    inside_c = np.fmax(inside_c, place.floor_c)
    inside_rh = np.minimum(100.0 * vapour_hpa / saturation_pressure_hpa(inside_c), 100.0)
    return inside_c, np.fmin(inside_rh, place.rh_ceiling_pct)


def _checked(
    day: npt.ArrayLike, temp_c: npt.ArrayLike, rh_pct: npt.ArrayLike
) -> tuple[Floats, Floats, Floats]:
    columns = {"day": day, "temp_c": temp_c, "rh_pct": rh_pct}
    day, temp_c, rh_pct = (np.asarray(column, float) for column in columns.values())
    if day.size == 0:
        raise BadInput("day", "the table has no rows")
    for name, column in (("temp_c", temp_c), ("rh_pct", rh_pct)):
        if column.shape != day.shape:
            raise BadInput(name, f"has {column.size} rows, day has {day.size}")
    if not np.isfinite(day).all():
        raise BadInput("day", "holds a missing value")
    if (np.diff(day) < 0).any():
        raise BadInput("day", "is not in order of time")
    if not (np.abs(temp_c) < 100).all():
        raise BadInput("temp_c", "holds a missing value or one no air ever has")
    if (rh_pct < 0).any() or (rh_pct > 100).any():
        raise BadInput("rh_pct", "lies outside 0 to 100 %")
    return day, temp_c, rh_pct


def _averaged(hour: Ints, value: Floats, days: int) -> tuple[Ints, Floats]:
    """Count and mean (days, 24) of the records of each hour; NaN where there is none."""
    known = ~np.isnan(value)
    size = days * _HOURS_A_DAY
    count = np.bincount(hour[known], minlength=size)
    total = np.bincount(hour[known], weights=value[known], minlength=size)
    with np.errstate(invalid="ignore"):
        mean = total / count
    return count.reshape(days, -1), mean.reshape(days, -1)


def _bridged(hours: Floats) -> Floats:
    """The same (days, 24) hours with gaps bridged by straight lines."""
    flat = hours.ravel()
    known = np.flatnonzero(~np.isnan(flat))
    return np.interp(np.arange(flat.size), known, flat[known]).reshape(hours.shape)


def _with_days(place: Place, rows: Ints, temp_c: Floats, rh_pct: Floats) -> Place:
    """The place with these days' own hours, and daily figures to match; newer hours replace older."""
    kept = ~np.isin(place.seen, rows)
    daily = {
        "mean_c": temp_c.mean(axis=1),
        "min_c": temp_c.min(axis=1),
        "max_c": temp_c.max(axis=1),
        "rh_pct": rh_pct.mean(axis=1),
    }
    columns = {name: getattr(place, name).copy() for name in daily}
    for name, values in daily.items():
        columns[name][rows] = values
    return replace(
        place,
        **columns,
        seen=np.concatenate([place.seen[kept], rows]),
        seen_c=np.concatenate([place.seen_c[kept], temp_c]),
        seen_rh_pct=np.concatenate([place.seen_rh_pct[kept], rh_pct]),
    )
