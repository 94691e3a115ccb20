"""Hours of a logger as the twelve normals of a place; what it did not see, moved from a known climate.

A month counts where little of it is missing. The other months are those of the climate that was
taken before, shifted by how much the measured months differ from it on the average.
"""

from dataclasses import dataclass

import numpy as np

from scheduler.loggers.clean import Bools, Floats, Ints
from scheduler.loggers.hourly import HOUR_S
from scheduler.physics.climate import Place, courses, span
from scheduler.vocabulary.constants import Constant, Standing

MONTHS, QUANTITIES = 12, 4  # mean, minimum, maximum, humidity
ENOUGH_HOURS = 18  # policy: as for a place's own days, a day with more than a quarter missing says little
_WMO = "WMO-No. 1203 (2017), Guidelines on the Calculation of Climate Normals: the 11/5 rule"
MOST_MISSING = Constant(10, "days of a month", _WMO, Standing.FROM_MEMORY)
MOST_IN_A_ROW = Constant(4, "days in a row", _WMO, Standing.FROM_MEMORY)
COLDEST_C, HOTTEST_C = -50.0, 50.0  # policy: as for a climate typed in
_DAY_S = 24 * HOUR_S
_DAY_OF_1970 = 719163  # date(1970, 1, 1).toordinal()


@dataclass(frozen=True)
class Monthly:
    """``normals`` (4, 12): mean, mean daily minimum and maximum °C, humidity %, January first.

    ``years`` (12,) is how many Januaries and so on were covered well enough, ``days`` (12,) how many
    whole days of the month there are at all. ``shift`` (4,) is the mean measured difference from the
    base, ``spread`` (4,) how far the months scatter about it (NaN below two months).
    """

    normals: Floats
    years: Ints
    days: Ints
    shift: Floats
    spread: Floats

    @property
    def measured(self) -> Bools:
        """The months (12,) that are the logger's own."""
        return np.asarray(self.years > 0)


@dataclass(frozen=True)
class _Days:
    day: Ints  # ordinals
    figure: Floats  # (4, d)


def monthly_of(
    local_s: Floats, mean_c: Floats, least_c: Floats, most_c: Floats, rh_pct: Floats, base: Floats
) -> Monthly:
    """The normals from hours (h,) by the place's own clock, with ``base`` (4, 12) for what is missing.

    ``rh_pct`` may be NaN throughout: then the humidity is the base's, unshifted.
    """
    days = _whole_days(local_s, mean_c, least_c, most_c, rh_pct)
    month_of_day, months = _months(days.day)
    own, years = np.full((QUANTITIES, MONTHS), np.nan), np.zeros(MONTHS, np.int64)
    good = np.array([_covered(days.day[month_of_day == each], each) for each in months], bool)
    total, weight = np.zeros((QUANTITIES, MONTHS)), np.zeros((QUANTITIES, MONTHS))
    for each in months[good]:
        figure = _means(days.figure[:, month_of_day == each])
        known = ~np.isnan(figure)
        total[known, each % MONTHS] += figure[known]
        weight[known, each % MONTHS] += 1
        years[each % MONTHS] += 1
    np.divide(total, weight, out=own, where=weight > 0)
    shift, spread = _difference(own - base)
    normals = _in_order(np.where(np.isnan(own), base + shift[:, None], own))
    return Monthly(normals, years, np.bincount(month_of_day % MONTHS, minlength=MONTHS), shift, spread)


def _means(figure: Floats) -> Floats:
    known = ~np.isnan(figure)
    total = np.where(known, figure, 0.0).sum(axis=1)
    with np.errstate(invalid="ignore"):
        return np.asarray(total / known.sum(axis=1))


def _whole_days(local_s: Floats, mean: Floats, least: Floats, most: Floats, rh: Floats) -> _Days:
    """Days with hours enough: mean of the hours, least and greatest of all, mean humidity."""
    day, at = np.unique(np.floor(local_s / _DAY_S).astype(np.int64), return_inverse=True)
    count = np.bincount(at, minlength=day.size)
    low, high = np.full(day.size, np.inf), np.full(day.size, -np.inf)
    np.minimum.at(low, at, least)
    np.maximum.at(high, at, most)
    known = ~np.isnan(rh)
    damp = np.bincount(at[known], minlength=day.size)
    with np.errstate(invalid="ignore"):
        humidity = np.bincount(at[known], rh[known], day.size) / damp
        humidity[damp < ENOUGH_HOURS] = np.nan
        figure = np.array([np.bincount(at, mean, day.size) / count, low, high, humidity])
    enough = count >= ENOUGH_HOURS
    return _Days(day[enough] + _DAY_OF_1970, figure[:, enough])


def _months(day: Ints) -> tuple[Ints, Ints]:
    """The month of each day, counted from January 1970, and the months there are."""
    month = (day - _DAY_OF_1970).astype("M8[D]").astype("M8[M]").astype(np.int64)
    return month, np.unique(month)


def _covered(day: Ints, month: int) -> bool:
    """Whether so few days of the month are missing, and so few in a row, that its mean may be told."""
    begin = np.datetime64(int(month), "M").astype("M8[D]").astype(int) + _DAY_OF_1970
    end = np.datetime64(int(month) + 1, "M").astype("M8[D]").astype(int) + _DAY_OF_1970
    in_a_row = np.diff(np.concatenate([[begin - 1], day, [end]])) - 1
    return bool(end - begin - day.size <= MOST_MISSING.value and in_a_row.max() <= MOST_IN_A_ROW.value)


def _difference(apart: Floats) -> tuple[Floats, Floats]:
    """Mean and standard deviation of the months' differences, each (4,); nought where there is none."""
    known = ~np.isnan(apart)
    count = known.sum(axis=1)
    filled = np.where(known, apart, 0.0)
    shift = filled.sum(axis=1) / np.maximum(count, 1)
    square = np.where(known, (apart - shift[:, None]) ** 2, 0.0).sum(axis=1)
    spread = np.sqrt(square / np.maximum(count - 1, 1))
    return shift, np.where(count > 1, spread, np.nan)


def _in_order(normals: Floats) -> Floats:
    """Held to what a climate may be: in order, within the limits of the air."""
    mean = np.clip(normals[0], COLDEST_C, HOTTEST_C)
    least = np.clip(np.minimum(normals[1], mean), COLDEST_C, None)
    most = np.clip(np.maximum(normals[2], mean), None, HOTTEST_C)
    return np.array([mean, least, most, np.clip(normals[3], 0.0, 100.0)])


def monthly_of_place(place: Place, first: int, end: int) -> Floats:
    """The normals (4, 12) of the air that a place is reckoned to have from ``first`` to ``end``: a year."""
    temp_c, rh = courses(span(place, first, end))
    month = (np.arange(first, end) - _DAY_OF_1970).astype("M8[D]").astype("M8[M]").astype(np.int64) % MONTHS
    daily = np.array([temp_c.mean(axis=1), temp_c.min(axis=1), temp_c.max(axis=1), rh.mean(axis=1)])
    return np.array([[row[month == m].mean() for m in range(MONTHS)] for row in daily])
