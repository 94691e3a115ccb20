"""How each battery stands on a day: what it holds, what draws on it, what is to be done with it."""

from dataclasses import dataclass

import numpy as np

from scheduler.duties.battery.charge.decline import day_of, lost
from scheduler.duties.battery.charge.hardening import losses
from scheduler.duties.battery.charge.pack import describe
from scheduler.duties.battery.charge.state import State, known_state
from scheduler.duties.battery.charge.window import Dates, dates_of
from scheduler.duties.conditions import Fleet, Floats
from scheduler.duties.policy import Policy
from scheduler.duties.windows import Day, each_row
from scheduler.physics.battery.discharge import HOURS_PER_DAY
from scheduler.vocabulary.units import DAYS_PER_MONTH

SLOW, LIKELY, FAST = range(3)


@dataclass(frozen=True)
class BatteryNow:
    """Batteries on their day, (3, n) low, likely, high: ``soc`` of what it can hold, ``health``: what it can
    hold, of its rating; ``lasting``: what standing low has cost it for good, of what age has left,
    ``comes_back`` what a full charge brings back; ``drain_a`` with the key off, ``self_month`` lost within
    itself in a month there. ``below``: how far beyond empty it has been run, in shares of what it can hold;
    ``flat_days`` (n,) since it was."""

    state: State
    dates: Dates
    soc: Floats
    health: Floats
    lasting: Floats
    comes_back: Floats
    drain_a: Floats
    self_month: Floats
    below: Floats
    flat_days: Floats


def battery_now(fleet: Fleet, today: Day, policy: Policy) -> BatteryNow:
    """Every battery of a fleet on ``today``, or each on its own day."""
    state = known_state(fleet, today, policy)
    dates = dates_of(fleet, state, policy)
    row, now = np.arange(len(fleet)), each_row(today, len(fleet))
    gone = [
        lost(state.rates.case(case), state.air, row, np.minimum(dates.start, now), now)
        for case in (SLOW, LIKELY, FAST)
    ]
    left = dates.soc - np.array(gone)
    soc = np.clip(left, 0.0, 1.0)
    # on a maintainer it is full, unless its power failed since it was last seen to work
    soc[: LIKELY + 1, dates.floating] = 1.0
    capacity = state.pack.capacity_ah
    lasting, missing = losses(state.hardened.today, state.hardened.charged, state.pack.chemistry)
    (empty,) = day_of(state.rates.cases((LIKELY,)), state.air, dates.start, dates.soc[[LIKELY]])
    return BatteryNow(
        state,
        dates,
        soc[::-1],
        (describe(fleet, now).health * (1.0 - missing))[::-1],
        lasting,
        missing - lasting,
        state.rates.drain * capacity / HOURS_PER_DAY,
        state.rates.self_30d * state.air.mean_factor * DAYS_PER_MONTH,
        np.where(dates.floating, 0.0, np.maximum(-left, 0.0))[::-1],
        np.where(dates.floating, 0.0, np.fmax(now - empty, 0.0)),
    )
