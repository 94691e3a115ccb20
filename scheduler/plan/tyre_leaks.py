"""Each tyre's last pressure and its own leak, from the readings of the whole fleet.

Every reading is brought to 20 °C first, so that a cold morning is not taken for a leak. Readings
of one tyre with no pumping between them show its leak; the leak of tyres at large is the start, and
the car's own readings pull away from it as they come.

Arrays have shape (n, p): p places on a car, the first for the car as a whole.
"""

from dataclasses import dataclass

import numpy as np

from scheduler.climate import stack
from scheduler.conditions import READING_KINDS, UNKNOWN, Fleet, Floats, Ints
from scheduler.decay.tyres import gauge_at_kpa, leak_per_day, leak_speed
from scheduler.learning import NINETY_PERCENT_SD, update_rate
from scheduler.materials.tyres import GAUGE_NOISE_SHARE, LEAK_PER_MONTH, LEAK_REFERENCE_C
from scheduler.plan.crossings import total_at

LEAST_KPA, MOST_KPA = 20.0, 1000.0  # gauge; outside it a car tyre's reading is a typing error
PUMPED_SHARE = 0.04  # policy: a rise above this is pumping, not the noise of a gauge
LOW, LIKELY, HIGH = range(3)


@dataclass(frozen=True)
class Pressures:
    """Usable readings, by tyre and day, shape (m,): gauge kPa at 20 °C, which tyre, days at 20 °C."""

    tyre: Ints  # car x p + place on the car
    row: Ints
    day: Floats
    kpa: Floats
    days_at_20: Floats
    temperature_assumed: int
    refused: int


@dataclass(frozen=True)
class Leaks:
    """Last pressure at 20 °C and its day, and the leak per day: (n, p); readings used, (n, p)."""

    kpa: Floats
    day: Floats
    leak: Floats  # (3, n, p): low, likely, high
    used: Ints


def leak_days(fleet: Fleet) -> Floats:
    """Running days at 20 °C of every place, shape (places, d + 1): how fast air is lost there."""
    return stack(fleet.places, leak_speed)


def leaks(fleet: Fleet, today: float, running: Floats) -> Leaks:
    """Where each tyre stood last and how fast it leaks; NaN pressure where it was never read."""
    places = 1 + int(fleet.readings.position.max(initial=UNKNOWN)) - UNKNOWN
    read, shape = pressures(fleet, today, running, places), (len(fleet), places)
    kpa, day = np.full(shape, np.nan), np.full(shape, np.nan)
    kpa.flat[read.tyre], day.flat[read.tyre] = read.kpa, read.day
    mean, sd, used = _learned(read, kpa.size)
    spread = NINETY_PERCENT_SD * sd
    least = leak_per_day(LEAK_PER_MONTH.range[0]) / 2  # a tyre never gains air: half the least seen
    rates = np.array([np.maximum(mean - spread, least), np.maximum(mean, least), mean + spread])
    kpa, day = _still_standing(kpa, day)
    return Leaks(kpa, day, rates.reshape(3, *shape), used.reshape(shape))


def pressures(fleet: Fleet, today: float, running: Floats, places: int) -> Pressures:
    """The usable tyre readings up to today, in order of tyre and day."""
    table = fleet.readings
    timely = (table.kind == READING_KINDS.index("tyre_pressure")) & (table.day <= today)
    picked = np.flatnonzero(timely & (table.value >= LEAST_KPA) & (table.value <= MOST_KPA))
    tyre = table.row[picked] * places + table.position[picked] - UNKNOWN
    order = np.lexsort((table.day[picked], tyre))
    picked, tyre = picked[order], tyre[order]
    row, day, at_c = table.row[picked], table.day[picked], table.temperature_c[picked]
    air_c = np.where(np.isnan(at_c), _air_c(fleet, row, day), at_c)
    kpa = gauge_at_kpa(table.value[picked], air_c, LEAK_REFERENCE_C.value)
    first_day = fleet.places[0].first_day
    spent = total_at(running, fleet.place[row], first_day, day)
    return Pressures(tyre, row, day, kpa, spent, int(np.isnan(at_c).sum()), int(timely.sum()) - len(picked))


def _air_c(fleet: Fleet, row: Ints, day: Floats) -> Floats:
    """The place's mean air on the day of each reading, for those without a temperature."""
    first, last = fleet.places[0].first_day, fleet.places[0].days - 1
    index = np.clip(np.floor(day) - first, 0, last).astype(np.int64)
    means = np.array([place.mean_c for place in fleet.places])
    return np.asarray(means[fleet.place[row], index])


def _learned(read: Pressures, tyres: int) -> tuple[Floats, Floats, Ints]:
    """Mean and spread of each tyre's leak per day at 20 °C, and how many of its readings counted.

    The line of ln p against days at 20 °C is fitted to each spell between two pumpings. The first
    fit centres each spell on its median, which one absurd reading cannot move, and sets strays
    aside; the second centres on the mean of the rest, which makes it least squares.
    """
    prior = leak_per_day(LEAK_PER_MONTH.range)
    sd = np.full(tyres, (prior[HIGH] - prior[LOW]) / 2 / NINETY_PERCENT_SD)
    mean = np.full(tyres, prior[LIKELY])
    spell, days, level = _spells(read), read.days_at_20, np.log(read.kpa)
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


def _still_standing(kpa: Floats, day: Floats) -> tuple[Floats, Floats]:
    """Without the tyres that a later reading of the whole car overtook, and the other way round."""
    whole, single = day[:, :1], day[:, 1:]
    newest_single = np.fmax.reduce(single, axis=1, keepdims=True, initial=-np.inf)
    overtaken = np.concatenate([newest_single >= whole, single < whole], axis=1)
    return np.where(overtaken, np.nan, kpa), np.where(overtaken, np.nan, day)
