"""Each tyre's last pressure and its own leak, from the readings of the whole fleet.

Every reading is brought to 20 °C first, so that a cold morning is not taken for a leak. Readings
of one tyre with no pumping between them show its leak; the leak of tyres at large is the start, and
the car's own readings pull away from it as they come.

Arrays have shape (n, p): p places on a car, the first for the car as a whole.
"""

from dataclasses import dataclass

import numpy as np

from scheduler.duties.conditions import READING_KINDS, UNKNOWN, Fleet, Floats, Ints
from scheduler.duties.crossings import total_at
from scheduler.duties.learning import NINETY_PERCENT_SD, update_rate
from scheduler.duties.windows import Day, each_row
from scheduler.physics.climate import totals
from scheduler.physics.tyres.pressure import gauge_at_kpa, leak_per_day, leak_speed
from scheduler.physics.tyres.tyres import GAUGE_NOISE_SHARE, LEAK_PER_MONTH, LEAK_REFERENCE_C

LEAST_KPA, MOST_KPA = 20.0, 1000.0  # gauge; outside it a car tyre's reading is a typing error
PUMPED_SHARE = 0.04  # policy: a rise above this is pumping, not the noise of a gauge
LOW, LIKELY, HIGH = range(3)


@dataclass(frozen=True)
class Pressures:
    """Usable readings in order of tyre and day, shape (m,), and what was refused or assumed."""

    places: int  # how many places on a car
    tyre: Ints  # car x places + place on the car
    row: Ints
    day: Floats
    kpa: Floats  # gauge, at 20 °C
    temperature_assumed: int
    refused: int


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


def pressures(fleet: Fleet, today: Day) -> Pressures:
    """The usable tyre readings up to today."""
    table, places = fleet.readings, 1 + int(fleet.readings.position.max(initial=UNKNOWN)) - UNKNOWN
    timely = table.kind == READING_KINDS.index("tyre_pressure")
    timely &= table.day <= each_row(today, len(fleet))[table.row]
    picked = np.flatnonzero(timely & (table.value >= LEAST_KPA) & (table.value <= MOST_KPA))
    tyre = table.row[picked] * places + table.position[picked] - UNKNOWN
    order = np.lexsort((table.day[picked], tyre))
    picked, tyre = picked[order], tyre[order]
    row, day, at_c = table.row[picked], table.day[picked], table.temperature_c[picked]
    air_c = np.where(np.isnan(at_c), _air_c(fleet, row, day), at_c)
    kpa = gauge_at_kpa(table.value[picked], air_c, LEAK_REFERENCE_C.value)
    refused = int(timely.sum()) - len(picked)
    return Pressures(places, tyre, row, day, kpa, int(np.isnan(at_c).sum()), refused)


def last(fleet: Fleet, read: Pressures) -> tuple[Floats, Floats]:
    """Each tyre's last pressure at 20 °C and its day, (n, p); NaN where it was never read.

    A later reading of the whole car overtakes single tyres, and the other way round.
    """
    shape = (len(fleet), read.places)
    kpa, day = np.full(shape, np.nan), np.full(shape, np.nan)
    kpa.flat[read.tyre], day.flat[read.tyre] = read.kpa, read.day
    whole, single = day[:, :1], day[:, 1:]
    newest_single = np.fmax.reduce(single, axis=1, keepdims=True, initial=-np.inf)
    overtaken = np.concatenate([newest_single >= whole, single < whole], axis=1)
    return np.where(overtaken, np.nan, kpa), np.where(overtaken, np.nan, day)


def leaks(fleet: Fleet, read: Pressures, warm: Warmth) -> tuple[Floats, Ints]:
    """Each tyre's leak per day at 20 °C, (3, n, p): low, likely, high; and readings used, (n, p)."""
    shape = (len(fleet), read.places)
    mean, sd, used = _learned(read, warm.spent(fleet.place[read.row], read.day), len(fleet) * read.places)
    spread = NINETY_PERCENT_SD * sd
    least = leak_per_day(LEAK_PER_MONTH.range[LOW]) / 2  # a tyre never gains air: half the least seen
    rates = np.array([np.maximum(mean - spread, least), np.maximum(mean, least), mean + spread])
    return rates.reshape(3, *shape), used.reshape(shape)


def _air_c(fleet: Fleet, row: Ints, day: Floats) -> Floats:
    """The place's mean air on the day of each reading, for those without a temperature."""
    air_c, where = np.empty(row.size), fleet.place[row]
    for position in np.unique(where):
        place, here = fleet.places[position], where == position
        index = np.clip(np.floor(day[here]) - place.first_day, 0, place.days - 1).astype(np.int64)
        air_c[here] = place.mean_c[index]
    return air_c


def _learned(read: Pressures, days: Floats, tyres: int) -> tuple[Floats, Floats, Ints]:
    """Mean and spread of each tyre's leak per day at 20 °C, and how many of its readings counted.

    The line of ln p against days at 20 °C is fitted to each spell between two pumpings. The first
    fit centres each spell on its median, which one absurd reading cannot move, and sets strays
    aside; the second centres on the mean of the rest, which makes it least squares.
    """
    prior = leak_per_day(LEAK_PER_MONTH.range)
    sd = np.full(tyres, (prior[HIGH] - prior[LOW]) / 2 / NINETY_PERCENT_SD)
    mean = np.full(tyres, prior[LIKELY])
    spell, level = _spells(read), np.log(read.kpa)
    noise = np.full(len(days), GAUGE_NOISE_SHARE.value)
    elapsed = days - _means(spell, days)
    fall = _medians(spell, level + prior[LIKELY] * elapsed) - level
    good = update_rate(mean, sd, elapsed, fall, noise, read.tyre, tyres)[2]
    spell, days, level, tyre = spell[good], days[good], level[good], read.tyre[good]
    elapsed, fall = days - _means(spell, days), _means(spell, level) - level
    mean, sd, used = update_rate(mean, sd, elapsed, fall, noise[good], tyre, tyres)
    return mean, sd, np.bincount(tyre[used & (elapsed != 0)], minlength=tyres)


def _spells(read: Pressures) -> Ints:
    """Which spell between two pumpings each reading belongs to, counted through the fleet, shape (m,)."""
    begins = np.ones(len(read.tyre), bool)
    pumped = np.diff(np.log(read.kpa)) > np.log1p(PUMPED_SHARE)
    begins[1:] = (np.diff(read.tyre) != 0) | pumped
    return np.asarray(np.cumsum(begins) - 1)


def _means(spell: Ints, value: Floats) -> Floats:
    """The mean of each reading's spell, shape (m,)."""
    return np.asarray((np.bincount(spell, value) / np.maximum(np.bincount(spell), 1))[spell])


def _medians(spell: Ints, value: Floats) -> Floats:
    """The median of each reading's spell, shape (m,)."""
    if not len(spell):
        return np.empty(0)
    in_order, count = value[np.lexsort((value, spell))], np.bincount(spell)
    first = np.cumsum(count) - count
    middle = (in_order[first + (count - 1) // 2] + in_order[first + count // 2]) / 2
    return np.asarray(middle[spell])
