"""How fast each battery runs down at its place: the climate's part and the steady part."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from scheduler.duties.battery.charge.pack import Pack
from scheduler.duties.conditions import Fleet, Floats, Ints
from scheduler.duties.crossings import reach_each, total_at
from scheduler.duties.windows import Day, each_row
from scheduler.physics.battery.discharge import drain_per_day, factor_days
from scheduler.physics.climate import totals
from scheduler.vocabulary.errors import BadInput

A_YEAR = 365
HORIZON_DAYS = 2192  # six years: no battery is planned further ahead


@dataclass(frozen=True)
class Air:
    """K of every place (p, d+1), in units of the 30-day rate at 25 °C, from ``first_day`` on.

    ``mean_factor`` is its mean growth a day over the year from today, for each car (n,).
    """

    factor: Floats
    first_day: float
    place: Ints  # which row of ``factor`` each car (n,) follows
    mean_factor: Floats

    @property
    def end_day(self) -> float:
        """The last day that the totals reach."""
        return float(self.first_day + self.factor.shape[1] - 1)

    def between(self, row: Ints, start: Floats, end: Floats) -> Floats:
        """K(end) - K(start) for cars ``row`` (m,)."""
        place = self.place[row]
        return total_at(self.factor, place, self.first_day, end) - total_at(
            self.factor, place, self.first_day, start
        )


def air_of(fleet: Fleet, first: float, today: Day) -> Air:
    """The running totals of all places from ``first`` (held within the places) to the horizon.

    BadInput: a place does not cover today.
    """
    begins = max(place.first_day for place in fleet.places)
    ends = min(place.end_day for place in fleet.places)
    for day in (float(np.min(today)), float(np.max(today))):
        if not begins <= day < ends:
            raise BadInput("places", f"do not cover day {day:g}: they span {begins} to {ends}")
    start, end = int(max(begins, np.floor(first))), int(min(ends, np.max(today) + HORIZON_DAYS))
    factor, place = totals(fleet.places, factor_days, start, end), fleet.place
    now = each_row(today, len(fleet)).astype(np.int64) - start
    later = np.minimum(now + A_YEAR, end - start)
    return Air(factor, float(start), place, (factor[place, later] - factor[place, now]) / (later - now))


@dataclass(frozen=True)
class Rates:
    """Of each car, (3, n) slow, likely, fast, or (n,): ``self_30d`` goes with K, ``drain`` with days."""

    self_30d: Floats
    drain: Floats

    def case(self, index: int) -> "Rates":
        """One of the three cases, (n,)."""
        return Rates(self.self_30d[index], self.drain[index])

    def cases(self, indices: Sequence[int]) -> "Rates":
        """Some of the three cases, (k, n)."""
        return Rates(self.self_30d[list(indices)], self.drain[list(indices)])

    def at_rows(self, row: Ints) -> "Rates":
        """The same for cars ``row`` (m,)."""
        return Rates(self.self_30d[..., row], self.drain[..., row])


def table_rates(pack: Pack) -> Rates:
    """The rates that tables and record give, before anything is learned."""
    return Rates(pack.self_30d, drain_per_day(pack.drain_a, pack.capacity_ah))


def lost(rates: Rates, air: Air, row: Ints, start: Floats, end: Floats, left: Floats | float = 1.0) -> Floats:
    """Share of capacity that cars ``row`` lose from ``start`` to ``end``, by one case (n,).

    ``left`` (m,): what of the capacity that the rates are reckoned with was left then; a current takes more
    of less.
    """
    own = rates.at_rows(row)
    return np.asarray(own.self_30d * air.between(row, start, end) + own.drain / left * (end - start))


def day_of(rates: Rates, air: Air, start: Floats, amount: Floats) -> Floats:
    """The days (k, n) when ``amount`` (k, n) (shares of capacity) is gone since ``start`` (n,), by case."""
    return reach_each(
        air.factor, air.place, air.first_day, start, rates.drain / rates.self_30d, amount / rates.self_30d
    )
