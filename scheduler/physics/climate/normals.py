"""From twelve monthly normals to a place's daily air, through the shelter that stands there.

The daily course through the year is the smooth periodic curve (twelve Fourier terms) whose average
over each month is that month's normal exactly: no monthly heat is gained or lost by smoothing.
Inside a shelter the air holds the outside's water; only its temperature, and so its relative
humidity, differs.
"""

from functools import cache

import numpy as np
import numpy.typing as npt

from scheduler.physics.climate.place import HOURS, Floats, Place, wave
from scheduler.physics.climate.shelter import (
    HEATED_TO_C,
    PEAK_HOUR,
    RH_CEILING_PCT,
    SHELTERS,
    Response,
    response,
)
from scheduler.physics.climate.vapour import daily_pressure_hpa, relative_humidity_pct
from scheduler.vocabulary.errors import BadInput, OutOfRange

MONTHS = 12
_MONTH_LENGTHS = np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])  # a common year
_ORDINAL_OF_1970 = 719163  # date(1970, 1, 1).toordinal(), numpy's day zero
_COLDEST_C, _HOTTEST_C = -90.0, 60.0  # beyond the extremes ever recorded at the surface (WMO archive)
_ANGLE = 2.0 * np.pi * (HOURS + 0.5) / HOURS.size


def from_normals(  # noqa: PLR0913 - twelve months of four quantities, and the building
    name: str,
    shelter: str,
    mean_c: npt.ArrayLike,
    min_c: npt.ArrayLike,
    max_c: npt.ArrayLike,
    rh_pct: npt.ArrayLike,
    first_day: int,
    days: int,
    heated_to_c: float = np.nan,
    rh_ceiling_pct: float = np.nan,
    inside: bool = False,
) -> Place:
    """A place of ``days`` days from monthly normals of the air outside, January first, (12,) each.

    Monthly mean, mean daily minimum and mean daily maximum in °C, mean relative humidity in %.
    ``heated_to_c`` and ``rh_ceiling_pct`` are set points; NaN takes the shelter's own default.
    ``inside``: the normals were measured under that roof already, so that nothing damps, heats or
    dries them a second time; a set point holds only where the measured nights bear it out.
    Raises BadInput or OutOfRange naming the argument.
    """
    if shelter not in SHELTERS:
        raise BadInput("shelter", f"{shelter!r} is none of {', '.join(SHELTERS)}")
    if days < 1:
        raise BadInput("days", f"{days} is fewer than one day")
    normals = _checked(mean_c, min_c, max_c, rh_pct)
    outside = _daily(normals, first_day, days, 0.0)
    pressure_hpa = _outside_pressure_hpa(*outside)
    floor_c = HEATED_TO_C.value if shelter == "heated" and np.isnan(heated_to_c) else heated_to_c
    ceiling = rh_ceiling_pct
    if shelter == "humidity_controlled" and np.isnan(ceiling):
        ceiling = RH_CEILING_PCT.value
    answer = response(shelter)
    if inside:
        answer = Response(swing=1.0, peak_delay_h=answer.peak_delay_h, slow_delay_days=0.0)
        floor_c, ceiling = float(np.where(normals[1].min() >= floor_c, floor_c, np.nan)), np.nan
    slow = _daily(normals, first_day, days, answer.slow_delay_days)
    mean, least, most = _inside(slow[0], slow[1], slow[2], answer.swing, floor_c)
    rh = slow[3]
    if not inside:  # the same water as outside, in air of another temperature
        rh = relative_humidity_pct(pressure_hpa, wave(mean, least, most, _ANGLE)).mean(axis=1)
    return Place(
        name,
        shelter,
        first_day,
        mean,
        least,
        most,
        np.fmin(rh, ceiling),
        floor_c,
        ceiling,
        PEAK_HOUR.value + answer.peak_delay_h,
    )


def _checked(
    mean_c: npt.ArrayLike, min_c: npt.ArrayLike, max_c: npt.ArrayLike, rh_pct: npt.ArrayLike
) -> Floats:
    """The four normals as (4, 12), each checked under its own name."""
    limits = {
        "mean_c": (_COLDEST_C, _HOTTEST_C, "°C"),
        "min_c": (_COLDEST_C, _HOTTEST_C, "°C"),
        "max_c": (_COLDEST_C, _HOTTEST_C, "°C"),
        "rh_pct": (0.0, 100.0, "%"),
    }
    columns = []
    for (name, (low, high, unit)), monthly in zip(
        limits.items(), (mean_c, min_c, max_c, rh_pct), strict=True
    ):
        column = np.asarray(monthly, float)
        if column.shape != (MONTHS,):
            raise BadInput(name, f"has shape {column.shape}, needs one value a month, (12,)")
        if np.isnan(column).any():
            raise BadInput(name, "holds a missing value; each month needs a number")
        if column.min() < low or column.max() > high:
            worst = column.min() if column.min() < low else column.max()
            raise OutOfRange(name, float(worst), low, high, unit, "surface climate")
        columns.append(column)
    mean, least, most, _ = columns
    if (least > mean).any() or (mean > most).any():
        raise BadInput("mean_c", "lies outside min_c to max_c in some month")
    return np.array(columns)


def year_angle(day: Floats) -> Floats:
    """The place of each day (ordinals, any shape) in its year, 0 to 2 pi, leap years included."""
    whole = np.floor(day).astype(np.int64)
    date = (whole - _ORDINAL_OF_1970).astype("M8[D]")
    year = date.astype("M8[Y]")
    length = ((year + 1).astype("M8[D]") - year.astype("M8[D]")).astype(float)
    since = (date - year.astype("M8[D]")).astype(float) + (day - whole) + 0.5
    return np.asarray(2.0 * np.pi * since / length)


def _terms(angle: Floats) -> Floats:
    """Twelve Fourier terms of the year at ``angle`` (d,): (d, 12)."""
    harmonics = np.arange(1, MONTHS // 2)
    waves = np.multiply.outer(angle, harmonics)
    highest = np.sin(MONTHS // 2 * angle)  # its cosine is nought in the middle of every month
    return np.column_stack([np.ones_like(angle), np.cos(waves), np.sin(waves), highest])


@cache
def _from_monthly() -> Floats:
    """The matrix (12, 12) from monthly averages to Fourier coefficients."""
    days = int(_MONTH_LENGTHS.sum())
    month = np.repeat(np.arange(MONTHS), _MONTH_LENGTHS)
    averaging = (month == np.arange(MONTHS)[:, None]) / _MONTH_LENGTHS[:, None]
    angle = 2.0 * np.pi * (np.arange(days) + 0.5) / days
    return np.asarray(np.linalg.inv(averaging @ _terms(angle)))


def _daily(normals: Floats, first_day: int, days: int, delay_days: float) -> Floats:
    """The smooth course (4, days) of the normals, ``delay_days`` late, in a physical order."""
    angle = year_angle(first_day + np.arange(float(days)) - delay_days)
    mean, least, most, rh = (_terms(angle) @ _from_monthly() @ normals.T).T
    return np.array([mean, np.minimum(least, mean), np.maximum(most, mean), np.clip(rh, 0.0, 100.0)])


def _outside_pressure_hpa(mean: Floats, least: Floats, most: Floats, rh: Floats) -> Floats:
    return daily_pressure_hpa(wave(mean, least, most, _ANGLE), rh)


def _inside(
    mean: Floats, least: Floats, most: Floats, swing: float, floor_c: float
) -> tuple[Floats, Floats, Floats]:
    """Mean, least and greatest under the roof: the swing damped, the heating's floor held."""
    least, most = mean + swing * (least - mean), mean + swing * (most - mean)
    course = np.fmax(wave(mean, least, most, _ANGLE), floor_c)
    least, most = np.fmax(least, floor_c), np.fmax(most, floor_c)
    return np.clip(course.mean(axis=1), least, most), least, most
