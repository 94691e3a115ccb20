"""Tyres that leak by a truth of their own, gauged with errors of their own; and the score of the dates.

Gauged every two months; what is found well below placard is pumped up, not quite to the mark.
"""

from dataclasses import dataclass

import numpy as np

from scheduler.duties.conditions import READING_KINDS, Readings
from scheduler.duties.learning import NINETY_PERCENT_SD
from scheduler.duties.policy import Policy
from scheduler.duties.tyres.course import course
from scheduler.duties.tyres.leaks import HIGH, LIKELY, LOW
from scheduler.duties.tyres.tyre_pressure import reached
from scheduler.physics.tyres.pressure import gauge_at_kpa, leak_per_day, leak_speed
from scheduler.physics.tyres.tyres import LEAK_PER_MONTH
from tests.scheduler.barn import cars
from tests.scheduler.batteries import TODAY, steady
from tests.scheduler.worlds.score import Score, score_dates

POLICY = Policy()
TEMP_C, PLACARD_KPA, EVERY_DAYS, PUMP_BELOW = 12.0, 220.0, 60.0, 0.96
FOUND, SET = (READING_KINDS.index(quantity) for quantity in ("tyre_pressure", "tyre_pressure_set"))


@dataclass(frozen=True, kw_only=True)
class World:
    """``leak``: share a month at 20 °C, middle and spread of its logarithm (0: the core's own table);
    ``gauge``: error of one reading, ``offset`` of the gauge, shares; ``set_off``: how far what was pumped is
    from what is written; ``warmer_k``: how far the tyre's air is from what is written down; ``strays``: share
    of readings that are wild; ``silent``: "topped up" is all that is written.
    """

    name: str
    leak: float = LEAK_PER_MONTH.value
    leak_spread: float = 0.0
    gauge: float = 0.015
    offset: float = 0.02
    set_off: float = 0.01
    warmer_k: float = 0.0
    strays: float = 0.0
    silent: bool = False


OWN = World(name="the core's own")
WORLDS = (
    OWN,
    World(name="leaks doubled", leak=0.04, leak_spread=0.35),
    World(name="leaks halved", leak=0.01, leak_spread=0.3),
    World(name="valves and beads", leak=0.024, leak_spread=0.6),
    World(name="gauges off", leak_spread=0.4, gauge=0.03, offset=0.035),
    World(name="warmth guessed", leak_spread=0.4, warmer_k=5.0),
    World(name="only “topped up”", leak_spread=0.4, silent=True, set_off=0.03),
    World(name="two strays in five", leak_spread=0.4, strays=0.4),
)


def score(world: World, readings: int, n: int = 200, seed: int = 1) -> Score:
    """The score of the day on which a tyre is down to the limit, after so many readings of it."""
    random = np.random.default_rng(seed)
    leak = _leaks(random, world, n)
    speed = float(leak_speed(TEMP_C))
    offset = random.normal(0.0, world.offset, n)
    kpa = PLACARD_KPA * np.exp(random.normal(0.0, 0.03, n) if readings else random.normal(0.0, 0.05, n))
    table, day = [], TODAY - EVERY_DAYS * max(readings - 1, 0)
    for _ in range(readings):
        shown = _shown(random, world, kpa, offset)
        wild = random.random(n) < world.strays
        shown = np.where(wild, shown * np.exp(random.uniform(-0.3, 0.3, n)), shown)
        table += [(row, day, FOUND, shown[row]) for row in range(n)]
        low = (shown < PUMP_BELOW * PLACARD_KPA) & ~wild
        brought = PLACARD_KPA * np.exp(random.normal(0.0, world.set_off, n) - offset)
        written = np.nan if world.silent else PLACARD_KPA
        table += [(row, day, SET, written) for row in np.flatnonzero(low)]
        kpa = np.where(low, brought, kpa)
        if day < TODAY:
            kpa = kpa * np.exp(-leak * speed * EVERY_DAYS)
            day += EVERY_DAYS
    fleet = cars(
        n, place=steady(TEMP_C), placard_kpa=PLACARD_KPA, stored_since=TODAY, readings=_readings(table)
    )
    tyres = course(fleet, TODAY)
    slow, likely, fast = (
        np.fmin.reduce(reached(fleet, tyres, POLICY.tyre_drop_share, case), axis=1)
        for case in (LOW, LIKELY, HIGH)
    )
    limit = (1.0 - POLICY.tyre_drop_share) * PLACARD_KPA
    truth = TODAY + np.maximum(np.log(kpa / limit), 0.0) / (leak * speed)
    return score_dates(slow, likely, fast, truth, TODAY)


def _leaks(random, world, n):
    """Leak per day at 20 °C of each tyre."""
    if world.leak_spread:
        return leak_per_day(world.leak * np.exp(random.normal(0.0, world.leak_spread, n)))
    low, likely, high = leak_per_day(LEAK_PER_MONTH.range)
    return likely * np.exp(random.normal(0.0, np.log(high / low) / 2 / NINETY_PERCENT_SD, n))


def _shown(random, world, kpa, offset):
    """What a gauge shows on tyres of this pressure at 20 °C, their air being what it is that day."""
    air_c = TEMP_C + random.normal(0.0, world.warmer_k, kpa.size)
    true = gauge_at_kpa(kpa, 20.0, air_c)
    return true * np.exp(random.normal(0.0, world.gauge, kpa.size) + offset)


def _readings(table):
    if not table:
        return Readings.none()
    row, day, kind, value = (np.array(column) for column in zip(*table, strict=True))
    at_c = np.where(kind == FOUND, TEMP_C, 20.0)
    same = np.full(row.size, np.nan)
    return Readings(row, day, kind, value, at_c, same, np.zeros(row.size, np.int64))
