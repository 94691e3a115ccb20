"""Duty ``tyre_pressure``: pump up before a tyre is a tenth below placard, by its own leak.

The tyre that gets there first sets the date. A car without readings is taken to have been at
placard when its storage began; where not even that is known, it is due today.
"""

import numpy as np

from scheduler.duties.conditions import Fleet, Floats
from scheduler.duties.crossings import first_reach
from scheduler.duties.learning import NINETY_PERCENT_SD
from scheduler.duties.policy import Policy
from scheduler.duties.tyres.course import Course, course
from scheduler.duties.tyres.leaks import HIGH, LIKELY
from scheduler.duties.tyres.words import explanation
from scheduler.duties.windows import NOT_HELD, Band, Day, DutyWindow, Explanation, Level, ordered
from scheduler.duties.words import one_car
from scheduler.physics.tyres.pressure import pressure_after_kpa

LIMITS = ("leak-down",)
FAR_DAY = 1e9  # stands for a day beyond the horizon, so that any tyre read comes before one unread


def reached(fleet: Fleet, tyres: Course, drop_share: float, case: int) -> Floats:
    """The day each tyre (n, p) is down by ``drop_share`` of placard, in the low, likely or high case."""
    limit = (1 - drop_share) * tyres.placard_kpa[:, None]
    amount = tyres.days_until(limit, case)
    where = np.broadcast_to(fleet.place[:, None], amount.shape).ravel()
    day, warm = tyres.line.day.ravel(), tyres.warm
    crossing = first_reach(warm.running, where, warm.first_day, day, np.zeros(day.size), amount.ravel())
    return np.asarray(crossing.reshape(amount.shape))


def window(fleet: Fleet, today: Day, policy: Policy) -> DutyWindow:
    """When each car's first tyre is down to the limit: early by a fast leak and a gauge
    that reads high, late by a lower limit."""
    tyres, harm = course(fleet, today), max(policy.tyre_late_drop_share, policy.tyre_drop_share)
    cases = ((policy.tyre_drop_share, HIGH), (policy.tyre_drop_share, LIKELY), (harm, LIKELY))
    early, due, late = (np.fmin.reduce(reached(fleet, tyres, *case), axis=1) for case in cases)
    # Of a car of which nothing is known the gauge is due today; from when on it is harmed nobody knows.
    early, due, late = (
        np.where(tyres.unknown, day, known) for day, known in ((today, early), (today, due), (np.nan, late))
    )
    held, limit = np.full(len(fleet), NOT_HELD), np.zeros(len(fleet), np.int64)
    assumed = tyres.unread | np.isnan(fleet.placard_kpa)
    return DutyWindow(*ordered(early, due, late), LIMITS, limit, (), held, assumed)


def _first_tyre(fleet: Fleet, tyres: Course, policy: Policy) -> int:
    """Which tyre of one car is down first, as a position in its row."""
    days = reached(fleet, tyres, policy.tyre_drop_share, LIKELY)[0]
    unread = np.isnan(tyres.line.kpa[0])
    return int(np.argmin(np.where(unread, np.inf, np.nan_to_num(days, nan=FAR_DAY))))


def explain(fleet: Fleet, today: float, policy: Policy) -> Explanation:
    """Why one car's tyres are due when they are."""
    tyres = course(one_car(fleet), today)
    first = _first_tyre(fleet, tyres, policy)
    return explanation(fleet, tyres, first, window(fleet, today, policy), policy)


def band(fleet: Fleet, days: Floats, policy: Policy) -> Band:
    """Gauge pressure at 20 °C of the tyre that is down first, over ``days`` (d,); a fast leak is low."""
    days = np.asarray(days, float)
    tyres = course(one_car(fleet), float(days[-1]))
    first, where = _first_tyre(fleet, tyres, policy), fleet.place[np.zeros(len(days), np.int64)]
    line = tyres.line
    start = days[:1] if tyres.unknown[0] else line.day[:, first]
    spent = np.maximum(tyres.warm.spent(where, days) - tyres.warm.spent(fleet.place, start), 0.0)
    likely = pressure_after_kpa(line.kpa[0, first], line.leak[LIKELY, 0, first], spent)
    since = spent + line.ahead[0, first]
    gauge = NINETY_PERCENT_SD * line.level_sd[0, first]
    slow, usual, fast = line.leak[:, 0, first]
    low = likely * np.exp(-np.hypot((fast - usual) * since, gauge))
    high = likely * np.exp(np.hypot((usual - slow) * since, gauge))
    placard = float(tyres.placard_kpa[0])
    levels = (Level("placard", placard), Level("pump up", placard * (1 - policy.tyre_drop_share)))
    return Band("tyre pressure at 20 °C", "kPa", days, low, likely, high, levels)
