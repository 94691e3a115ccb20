"""Each tyre's last pressure and its own leak, from the readings of the whole fleet.

Readings of one tyre with no pumping between them show its leak; the leak of tyres at large is the start, and
the car's own readings pull away from it as they come. Where a tyre stands now is told by all readings
since it was last pumped up together, for each has its error; one far below the rest, and nothing after it,
is taken at its word.

Arrays have shape (n, p): p places on a car, the first for the car as a whole.
"""

from dataclasses import dataclass

import numpy as np

from scheduler.duties.conditions import UNKNOWN, Bools, Fleet, Floats, Ints
from scheduler.duties.crossings import total_at
from scheduler.duties.learning import NINETY_PERCENT_SD, positive_rate, update_rate
from scheduler.duties.tyres.readings import Pressures
from scheduler.duties.windows import Day
from scheduler.physics.climate import totals
from scheduler.physics.tyres.age import age_years
from scheduler.physics.tyres.pressure import leak_per_day, leak_speed
from scheduler.physics.tyres.tyres import GAUGE_OFFSET_SHARE, LEAK_PER_MONTH, OLD_LEAK_PER_MONTH, OLD_YEARS

PUMPED_SHARE = 0.08  # policy: a rise above this is pumping that nobody wrote down, not the error of a gauge
# policy, set while looking at a simulated world: so many times a tyre's readings out of line, as a share of
# those in line, widen the error of all
ODD_DOUBTS = 3.0
LOW, LIKELY, HIGH = range(3)


@dataclass(frozen=True)
class Lines:
    """Where each tyre stands on its line, shape (n, p), NaN where it was never read; days at 20 °C.

    ``kpa`` gauge at 20 °C on ``day``, its last reading since it was pumped up; ``ahead``: how long after the
    middle of those readings that is; ``level_sd``: of the middle, a share; ``rise``: how far a lone last
    reading stands above what those before it foretold, in logarithm (below nought: under it; 0: it agrees).
    ``leak`` (3, n, p) a day at 20 °C: low, likely, high; ``used``: readings that taught it.
    """

    kpa: Floats
    day: Floats
    ahead: Floats
    level_sd: Floats
    rise: Floats
    leak: Floats
    used: Ints


@dataclass(frozen=True)
class Warmth:
    """Running days at 20 °C from ``first_day`` on, (places, d + 1): how fast air is lost there."""

    first_day: int
    running: Floats

    def spent(self, place: Ints, day: Floats) -> Floats:
        """Days at 20 °C from the first day to ``day``, at each of some places, shape (m,)."""
        return total_at(self.running, place, self.first_day, day)

    def within(self, day: Floats) -> Floats:
        """The same days (ordinals, any shape), held within the table."""
        return np.clip(day, self.first_day, self.first_day + self.running.shape[1] - 1)


def warmth(fleet: Fleet, since: float) -> Warmth:
    """The leak-days of the fleet's places from ``since`` to the end of what they cover."""
    latest = min(place.end_day for place in fleet.places) - 1
    first = int(np.clip(np.floor(since), max(place.first_day for place in fleet.places), latest))
    return Warmth(first, totals(fleet.places, leak_speed, first, latest + 1))


def lines(fleet: Fleet, read: Pressures, warm: Warmth, old: Bools) -> Lines:
    """Where each tyre stands and how fast it leaks, by its readings; ``old`` (n,): leaks as old ones do.

    A later reading of the whole car overtakes single tyres, and the other way round.
    """
    shape, tyres = (len(fleet), read.places), len(fleet) * read.places
    prior = np.repeat(_prior(old), read.places, axis=1)
    spent = warm.spent(fleet.place[read.row], read.day)
    spell, good = _sorted_out(read, spent, prior)
    noise = _noise(read, spell, good, tyres)
    read, spell, spent, noise = read.keep(good), spell[good], spent[good], noise[good]
    level, weight = np.log(read.kpa), 1.0 / noise**2
    middle, mean_level = _means(spell, spent, weight), _means(spell, level, weight)
    elapsed = spent - middle
    mean, log_sd = positive_rate(prior, elapsed, mean_level - level, noise, read.tyre)
    leak = mean * np.exp(NINETY_PERCENT_SD * np.multiply.outer(np.array([-1.0, 0.0, 1.0]), log_sd))
    last = np.full(tyres, UNKNOWN)
    np.maximum.at(last, read.tyre, np.arange(read.tyre.size))
    has = np.flatnonzero(last >= 0)
    at = last[has]
    kpa, day, ahead, level_sd, rise = (np.full(tyres, np.nan) for _ in range(5))
    day[has], ahead[has] = read.day[at], elapsed[at]
    kpa[has] = np.exp(mean_level[at] - mean[has] * elapsed[at])
    certainty = np.bincount(spell, weight)[spell[at]] if has.size else np.empty(0)
    level_sd[has] = np.hypot(1.0 / np.sqrt(certainty), GAUGE_OFFSET_SHARE.value)
    before = np.maximum(at - 1, 0)
    lone = (at > 0) & (read.tyre[before] == has) & (spell[before] != spell[at]) & ~read.was_set[at]
    predicted = mean_level[before] - mean[has] * (spent[at] - middle[before])
    rise[has] = np.where(lone, level[at] - predicted, 0.0)
    overtaken = _overtaken(day.reshape(shape))
    kpa, day, ahead, level_sd, rise = (
        np.where(overtaken, np.nan, column.reshape(shape)) for column in (kpa, day, ahead, level_sd, rise)
    )
    used = np.bincount(read.tyre[elapsed != 0], minlength=tyres)
    return Lines(kpa, day, ahead, level_sd, rise, leak.reshape(3, *shape), used.reshape(shape))


def last(fleet: Fleet, read: Pressures) -> Floats:
    """Each tyre's last pressure at 20 °C, (n, p); NaN where it was never read, or another overtook it."""
    shape = (len(fleet), read.places)
    kpa, day = np.full(shape, np.nan), np.full(shape, np.nan)
    kpa.flat[read.tyre], day.flat[read.tyre] = read.kpa, read.day
    return np.where(_overtaken(day), np.nan, kpa)


def _overtaken(day: Floats) -> Bools:
    """Where a later reading stands elsewhere: of the whole car over single tyres, and the other way round."""
    whole, single = day[:, :1], day[:, 1:]
    newest_single = np.fmax.reduce(single, axis=1, keepdims=True, initial=-np.inf)
    return np.concatenate([newest_single >= whole, single < whole], axis=1)


def are_old(fleet: Fleet, today: Day) -> Bools:
    """Cars (n,) whose oldest tyre was made more than ten years before; an unknown age counts as none."""
    return np.asarray(age_years(fleet.tyre_made, today) > OLD_YEARS)


def _prior(old: Bools) -> Floats:
    """The leak of tyres at large per day at 20 °C, (3, n); of old ones more."""
    of_sound, of_old = (leak_per_day(kind.range) for kind in (LEAK_PER_MONTH, OLD_LEAK_PER_MONTH))
    return np.where(old, of_old[:, None], of_sound[:, None])


def _sorted_out(read: Pressures, spent: Floats, prior: Floats) -> tuple[Ints, Bools]:
    """Which spell between two pumpings each reading belongs to, and whether it is of one line, (m,) each.

    Each spell is centred on its median, which one absurd reading cannot move. A tyre's newest reading that
    stands far below its line begins a spell of its own: something has happened to it since.
    """
    spell, level = _spells(read), np.log(read.kpa)
    likely, tyres = prior[LIKELY], prior.shape[1]
    sd = (prior[HIGH] - prior[LOW]) / 2 / NINETY_PERCENT_SD
    elapsed = spent - _means(spell, spent, np.ones(spent.size))
    fall = _medians(spell, level + likely[read.tyre] * elapsed) - level
    good = update_rate(likely, sd, elapsed, fall, read.noise, read.tyre, tyres)[2]
    newest = np.append(np.diff(read.tyre) != 0, True)[: read.tyre.size]
    fallen = newest & ~good & (fall > likely[read.tyre] * elapsed)
    spell[fallen] = spell.max(initial=0) + 1 + np.arange(int(fallen.sum()))
    return spell, good | fallen


def _noise(read: Pressures, spell: Ints, good: Bools, tyres: int) -> Floats:
    """How far each reading may be off (m,), a share: more where others of its tyre are no line with it.

    Out of line is what was set aside, and what begins a spell though nobody wrote that the tyre was set.
    """
    begins = np.zeros(read.tyre.size, bool)
    begins[1:] = (np.diff(spell) != 0) & (np.diff(read.tyre) == 0) & ~read.was_set[1:]
    odd = np.bincount(read.tyre[begins | ~good], minlength=tyres)
    of_line = np.maximum(np.bincount(read.tyre[good], minlength=tyres), 1)
    return np.asarray(read.noise * (1.0 + ODD_DOUBTS * odd / of_line)[read.tyre])


def _spells(read: Pressures) -> Ints:
    """Which spell between two pumpings each reading belongs to, counted through the fleet, shape (m,)."""
    begins = np.ones(len(read.tyre), bool)
    pumped = np.diff(np.log(read.kpa)) > np.log1p(PUMPED_SHARE)
    begins[1:] = (np.diff(read.tyre) != 0) | pumped | read.was_set[1:]
    return np.asarray(np.cumsum(begins) - 1)


def _means(spell: Ints, value: Floats, weight: Floats) -> Floats:
    """The weighted mean of each reading's spell, shape (m,)."""
    total = np.maximum(np.bincount(spell, weight), np.finfo(float).tiny)
    return np.asarray((np.bincount(spell, value * weight) / total)[spell])


def _medians(spell: Ints, value: Floats) -> Floats:
    """The median of each reading's spell, shape (m,)."""
    if not len(spell):
        return np.empty(0)
    in_order, count = value[np.lexsort((value, spell))], np.bincount(spell)
    first = np.cumsum(count) - count
    middle = (in_order[first + (count - 1) // 2] + in_order[first + count // 2]) / 2
    return np.asarray(middle[spell])
