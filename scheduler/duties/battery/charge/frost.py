"""The day when a night of the coming winter could freeze a battery that nobody charges.

A battery only runs down, and from midsummer to the depth of winter the charge that stays liquid
only rises; within one such cold year the two lines meet once, and halving the days finds where.
After the depth of winter the need is held until midsummer: the cautious side, by a few weeks.
A battery known only from a day after that depth is held to what that day needs.
"""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from scheduler.duties.battery.charge.decline import Air, Rates, lost
from scheduler.duties.conditions import Bools, Floats, Ints
from scheduler.duties.policy import Policy
from scheduler.physics.battery.freezing import safe_soc
from scheduler.physics.climate import Place, coldest, span

_A_YEAR = 365


@dataclass(frozen=True)
class Need:
    """The charge that stays liquid at one place, day by day (d,): for that night alone, and held on.

    ``depth`` is the coldest day of each day's cold year; ``edges`` (k+1,) where cold years begin.
    """

    tonight: Floats
    held: Floats
    depth: Ints
    edges: list[int]

    def since(self, begun: Ints, day: Ints) -> Floats:
        """What a battery known since ``begun`` needs on ``day``; offsets (n,)."""
        return np.where(begun > self.depth[day], self.tonight[begun], self.held[day])


def need_of(place: Place, first_day: int, days: int, policy: Policy) -> Need:
    """The need at a place over ``days`` from ``first_day``."""
    here = span(place, first_day, first_day + days)
    tonight = safe_soc(coldest(here, policy.cold_spell_k) - policy.freeze_margin_k)
    midsummer = place.first_day + int(np.argmax(place.mean_c[:_A_YEAR]))  # whoever else stands there
    edges = sorted({0, *range((midsummer - first_day) % _A_YEAR, days, _A_YEAR), days})
    held, depth = np.empty(days), np.empty(days, np.int64)
    for left, right in pairwise(edges):
        held[left:right] = np.maximum.accumulate(tonight[left:right])
        depth[left:right] = left + int(np.argmax(tonight[left:right]))
    return Need(tonight, held, depth, edges)


def freezing_day(
    places: tuple[Place, ...], air: Air, rates: Rates, start: Floats, soc: Floats, rows: Ints, policy: Policy
) -> Floats:
    """The day (n,) from ``start`` on when the likely charge first falls short; NaN for never.

    Only ``rows`` (lead-acid, and in danger at all) are looked at.
    """
    day = np.full(start.size, np.nan)
    for index, place in enumerate(places):
        here = rows[air.place[rows] == index]
        if here.size:
            need = need_of(place, int(air.first_day), air.factor.shape[1] - 1, policy)
            day[here] = _first_short(need, air, rates, start[here], soc[here], here)
    return day


def _first_short(need: Need, air: Air, rates: Rates, start: Floats, soc: Floats, here: Ints) -> Floats:
    """The first day (k,) on which cars ``here`` of one place hold less than they need."""
    begun = np.minimum(np.ceil(start - air.first_day).astype(np.int64), need.tonight.size - 1)
    day = np.full(here.size, np.nan)

    def short(offset: Ints) -> Bools:
        left = soc - lost(rates, air, here, start, np.maximum(air.first_day + offset, start))
        needed = need.since(begun, offset)
        return np.asarray((np.clip(left, 0.0, 1.0) <= needed) & (needed > 0.0))

    for left, right in pairwise(need.edges):
        low, high = np.maximum(begun, left), np.full_like(begun, right - 1)
        meets = (low <= high) & np.isnan(day)
        low = np.minimum(low, high)
        meets &= short(high)
        for _ in range((right - left).bit_length() if meets.any() else 0):
            middle = (low + high) // 2
            reached = short(middle)
            high, low = np.where(reached, middle, high), np.where(reached, low, np.minimum(middle + 1, high))
        day = np.where(meets, air.first_day + high, day)
    return day
