"""Change the fuel: by gum, lighter parts, water or age, whichever comes first.

Stale fuel cannot be mended, so this is the duty that follows when stabiliser can no longer serve. What
passes with the season is no reason to drain it: diesel that may wax holds back the start of the engine, and
summer E85 starts hard until winter blend is in the tank.
"""

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from scheduler.duties.conditions import Fleet, FuelEvents
from scheduler.duties.fuel.events import fuel_now
from scheduler.duties.fuel.limits import (
    COLD,
    LIGHT_ENDS,
    LIMITS,
    OXIDATION,
    SEASON,
    TWO_YEARS,
    WATER,
)
from scheduler.duties.fuel.outlook import FuelOutlook, fuel_outlook
from scheduler.duties.fuel.reasons import change_reason
from scheduler.duties.fuel.state import advance
from scheduler.duties.policy import Policy
from scheduler.duties.windows import NOT_HELD, Band, Day, DutyWindow, Explanation, Level, ordered
from scheduler.duties.words import one_car

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

LOW, LIKELY, HIGH = range(3)
OF_THE_SEASON = (COLD, SEASON)
SPOILT_BY = (OXIDATION, LIGHT_ENDS, TWO_YEARS)


def window(fleet: Fleet, today: Day, policy: Policy) -> DutyWindow:
    """When each tank's fuel is past use; never held: stale fuel may always be drained with care."""
    return _window(fuel_outlook(fleet, today, policy))


def _window(outlook: FuelOutlook) -> DutyWindow:
    now = outlook.now
    first = np.where(np.isnan(outlook.days), np.inf, outlook.days)
    first[list(OF_THE_SEASON)] = np.inf
    soonest = np.where(np.isinf(first.min(axis=0)), np.nan, first.min(axis=0))
    early, due, late = ordered(soonest[HIGH], soonest[LIKELY], soonest[LOW])
    return DutyWindow(
        early=early,
        due=due,
        late=late,
        limits=LIMITS,
        limit=first[:, LIKELY].argmin(axis=0),
        holds=(),
        hold=np.full(len(due), NOT_HELD),
        assumed=now.state.assumed | now.tanks.assumed,
    )


def stale(outlook: FuelOutlook, today: Day) -> Bools:
    """Whether gum, lighter parts or age have spoilt the fuel by ``today`` (n,)."""
    return np.asarray((outlook.days[SPOILT_BY, LIKELY] <= today).any(axis=0))


def separated(outlook: FuelOutlook, today: Day) -> Bools:
    """Whether water has likely dropped out by ``today`` (n,): no longer a margin, the tolerance itself."""
    return np.asarray(outlook.now.state.separated | (outlook.days[WATER, LOW] <= today))


def explain(fleet: Fleet, today: float, policy: Policy) -> Explanation:
    """Why this one car's fuel is to be changed then."""
    outlook = fuel_outlook(one_car(fleet), today, policy)
    return change_reason(fleet, outlook.now, outlook.days, _window(outlook), today)


def band(fleet: Fleet, days: Floats, policy: Policy) -> Band:
    """Share of the fuel's life used over ``days`` (d,), for one car, through every event on its record.

    The car is repeated once a day, each copy with the events up to its own day, so that one fold
    gives the whole curve.
    """
    copies = one_car(fleet).take(np.zeros(len(days), np.int64))
    day, event = np.nonzero(fleet.fuel_events.day <= days[:, None])
    events = FuelEvents(**{name: column[event] for name, column in vars(fleet.fuel_events).items()})
    now = fuel_now(replace(copies, fuel_events=replace(events, row=day)), float(days.max()), policy)
    used = advance(now.state, now.tanks, now.air, np.maximum(days, now.state.since)).used
    used = np.where((days >= now.state.since) & (now.state.litres > 0), used, np.nan)
    levels = (Level("stale", 1.0), Level("treat before", policy.stabilise_by_life))
    return Band("fuel ageing", "1", days, used[0], used[1], used[2], levels)
