"""The day when a night of the coming winter could freeze a battery that nobody charges.

A battery only runs down, and from midsummer to the depth of winter the charge that stays liquid
only rises; within one such cold year the two lines meet once, and halving the days finds where.
After the depth of winter the need is held until midsummer: the cautious side, by a few weeks.
"""

from itertools import pairwise

import numpy as np

from scheduler.climate import Place, coldest, span
from scheduler.conditions import Bools, Floats, Ints
from scheduler.decay.battery_freezing import safe_soc
from scheduler.plan.charge.decline import Air, Rates, lost

_A_YEAR = 365


def needed_soc(place: Place, first_day: int, days: int, spell_k: float, margin_k: float) -> Floats:
    """The least charge (days,) that a cold night of each day allows, held from each winter's depth on."""
    cold = coldest(span(place, first_day, first_day + days), spell_k) - margin_k
    need = safe_soc(cold)
    edges = cold_years(place, first_day, days)
    for left, right in pairwise(edges):
        need[left:right] = np.maximum.accumulate(need[left:right])
    return need


def cold_years(place: Place, first_day: int, days: int) -> Ints:
    """Offsets (k+1,) at which cold years start, first at 0 or before midsummer, the end last."""
    first_year = place.mean_c[first_day - place.first_day :][:_A_YEAR]
    starts = np.arange(int(np.argmax(first_year)), days, _A_YEAR)
    return np.unique(np.concatenate([[0], starts, [days]]))


def freezing_day(  # noqa: PLR0913 - the two lines and their meeting
    places: tuple[Place, ...], air: Air, rates: Rates, start: Floats, soc: Floats, rows: Ints,
    spell_k: float, margin_k: float,
) -> Floats:  # fmt: skip
    """The day (n,) from ``start`` on when the likely charge first falls short; NaN for never.

    Only ``rows`` (lead-acid, and in danger at all) are looked at.
    """
    day = np.full(start.size, np.nan)
    for index, place in enumerate(places):
        here = rows[air.place[rows] == index]
        if here.size:
            day[here] = _at_place(place, air, rates, start, soc, here, spell_k, margin_k)
    return day


def _at_place(  # noqa: PLR0913 - as above
    place: Place,
    air: Air,
    rates: Rates,
    start: Floats,
    soc: Floats,
    here: Ints,
    spell_k: float,
    margin_k: float,
) -> Floats:
    first, days = int(air.first_day), air.factor.shape[1] - 1
    need = needed_soc(place, first, days, spell_k, margin_k)
    begins, level, found = start[here], soc[here], np.full(here.size, np.nan)

    def short(offset: Ints) -> Bools:
        left = level - lost(rates, air, here, begins, np.maximum(first + offset, begins))
        return np.asarray(np.clip(left, 0.0, 1.0) <= need[offset]) & (need[offset] > 0.0)

    edges = cold_years(place, first, days)
    for left, right in pairwise(edges):
        low = np.maximum(np.ceil(begins - first).astype(np.int64), left)
        high = np.full_like(low, right - 1)
        meets = (low <= high) & np.isnan(found)
        low = np.minimum(low, high)
        meets &= short(high)
        if not meets.any():
            continue
        for _ in range(int(right - left).bit_length()):
            middle = (low + high) // 2
            reached = short(middle)
            high, low = np.where(reached, middle, high), np.where(reached, low, np.minimum(middle + 1, high))
        found = np.where(meets, first + high, found)
    return found
