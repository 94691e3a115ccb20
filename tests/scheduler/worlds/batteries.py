"""Batteries that run down by a truth of their own, read with errors of their own; and the score of the dates.

Nothing of the truth is drawn as the core would have it: capacities have fallen further, the leak is that of
another battery, "charged in full" was not quite full, meters are off, and something may draw that nobody
wrote down. Whoever stands flat loses capacity for good, more slowly than the core takes it, each at a pace of
its own.
"""

from dataclasses import dataclass

import numpy as np

from scheduler.duties.battery.charge.state import known_state
from scheduler.duties.battery.charge.window import dates_of
from scheduler.duties.conditions import READING_KINDS, Charges, Readings
from scheduler.duties.policy import Policy
from scheduler.physics.battery.batteries import BATTERIES
from scheduler.physics.battery.charge_state import rested_volts
from scheduler.physics.battery.discharge import temperature_factor
from scheduler.physics.materials import position
from tests.scheduler.batteries import TODAY, cars, steady
from tests.scheduler.worlds.score import Score, score_dates

POLICY = Policy()
TEMP_C, RATED_AH, RECORDED_A = 12.0, 60.0, 0.030
CHEMISTRY = "calcium"
HARDENS_WEEKS, HARDENS_SPREAD = 30.0, 0.6  # flat at 25 °C, and the spread of its logarithm
SPELL_DAYS, AFTER_DAYS = 40.0, 3.0  # readings lie within the spells; the last charge was so long ago


@dataclass(frozen=True, kw_only=True)
class World:
    """``leak``: times the table's self-discharge, middle and spread of its logarithm; ``drawn_a``: what draws
    on it beyond the record, least and most; ``gauge_v``: error of one reading; ``strays``: share of readings
    that are wild."""

    name: str
    leak: float = 1.0
    leak_spread: float = 0.3
    capacity: tuple[float, float] = (0.7, 1.0)
    drawn_a: tuple[float, float] = (0.0, 0.0)
    full: tuple[float, float] = (0.97, 1.0)
    offset_v: float = 0.01
    gauge_v: float = 0.02
    strays: float = 0.0


WORLDS = (
    World(name="as recorded"),
    World(name="leaks doubled", leak=2.0, leak_spread=0.4),
    World(name="old batteries", leak=1.5, capacity=(0.45, 0.75)),
    World(name="partial charges", full=(0.88, 0.99)),
    World(name="meters off", offset_v=0.04, gauge_v=0.05),
    World(name="something draws on it", drawn_a=(0.06, 0.30)),
    World(name="two strays in five", strays=0.4),
)


def score(world: World, readings: int, n: int = 200, seed: int = 1) -> Score:
    """The score of a world after so many readings of each battery, spread over two spells."""
    random = np.random.default_rng(seed)
    code = position(BATTERIES, CHEMISTRY)
    leak = BATTERIES[code].self_discharge.value * world.leak * np.exp(random.normal(0, world.leak_spread, n))
    holds_ah = RATED_AH * random.uniform(*world.capacity, n)
    drawn_a = RECORDED_A + random.uniform(*world.drawn_a, n)
    inside = leak * float(temperature_factor(TEMP_C)) / 30.0
    begins = TODAY - AFTER_DAYS - np.array([2.0, 1.0, 0.0]) * SPELL_DAYS
    full = random.uniform(*world.full, (3, n))
    a_day = _a_day(random, inside, drawn_a, holds_ah, full)
    table = _read(random, world, code, a_day, full, begins, readings)
    fleet = cars(
        n,
        place=steady(TEMP_C),
        chemistry=CHEMISTRY,
        drain_a=RECORDED_A,
        charges=Charges(
            np.tile(np.arange(n), 3), np.repeat(begins, n), np.repeat(begins, n), np.ones(3 * n, bool)
        ),
        readings=table,
    )
    state = known_state(fleet, TODAY, POLICY)
    slow, likely, fast = dates_of(fleet, state, POLICY).recharge
    truth = begins[2] + (full[2] - POLICY.recharge_soc) / a_day[2]
    return score_dates(slow, likely, fast, truth, begins[2], state.drawn_on.mean())


def _a_day(random, inside, drawn_a, holds_ah, full):
    """What each battery loses a day in each of the three spells (3, n): those before hardened what stood
    low."""
    days = np.linspace(0.0, SPELL_DAYS, 200)[:, None]
    weeks = HARDENS_WEEKS * np.exp(random.normal(0, HARDENS_SPREAD, drawn_a.size))
    left, a_day = np.ones(drawn_a.size), []
    for spell in range(3):
        a_day.append(inside + 24.0 * drawn_a / (holds_ah * left))
        level = np.clip(full[spell] - a_day[-1] * days, 0.0, 1.0)
        low = (np.maximum(0.8 - level, 0.0) / 0.8) ** 2
        left = left * np.exp(-low.mean(axis=0) * SPELL_DAYS / 7.0 * 2.0 ** ((TEMP_C - 25.0) / 10.0) / weeks)
    return np.array(a_day)


def _read(random, world, code, a_day, full, begins, readings):
    """``readings`` of each battery over the first two spells: what a meter showed."""
    n = a_day.shape[1]
    if not readings:
        return Readings.none()
    spell = np.arange(readings) % 2
    # the first spell's readings and the second's, each a good while after the charge
    days = random.uniform(3.0, 12.0, (readings, n)).cumsum(axis=0) / 2.0 + 3.0
    level = np.clip(full[spell] - a_day[spell] * days, 0.0, 1.0)
    volts = rested_volts(level, TEMP_C, code, 12.0) + random.normal(0, world.offset_v, n)
    volts = volts + random.normal(0, world.gauge_v, volts.shape)
    wild = random.random(volts.shape) < world.strays
    volts = np.where(wild, volts + random.uniform(-0.6, 0.3, volts.shape), volts)
    row = np.tile(np.arange(n), readings)
    same = np.ones(row.size)
    kind = np.full(row.size, READING_KINDS.index("rested_volts"))
    day = (begins[spell][:, None] + days).ravel()
    order = np.lexsort((day, row))
    return Readings(
        row[order], day[order], kind, volts.ravel()[order], TEMP_C * same, 24.0 * same, np.full(row.size, -1)
    )
