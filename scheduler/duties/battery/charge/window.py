"""Early, due and late for every battery of a fleet, and which limit sets the date."""

from dataclasses import dataclass

import numpy as np

from scheduler.duties.battery.charge.decline import day_of
from scheduler.duties.battery.charge.frost import freezing_day
from scheduler.duties.battery.charge.holds import HOLDS, holds
from scheduler.duties.battery.charge.state import State, known_state, unsure
from scheduler.duties.conditions import Bools, Fleet, Floats
from scheduler.duties.crossings import reach_each
from scheduler.duties.learning import NINETY_PERCENT_SD
from scheduler.duties.policy import Policy
from scheduler.duties.windows import Day, DutyWindow, ordered
from scheduler.physics.battery.batteries import BATTERIES
from scheduler.physics.battery.freezing import safe_soc
from scheduler.physics.climate import Place, coldest, span, totals
from scheduler.physics.materials import at

LIMITS = ("state of charge", "frost", "calendar interval", "maintainer check")
CHARGE, FROST, CALENDAR, CHECK = range(4)
HOT_C = 27.0  # battery maker's storage page: above it the interval halves


@dataclass(frozen=True)
class Dates:
    """Every day that a charge hangs on, (n,) each; ``recharge`` (3, n) slow, likely, fast."""

    recharge: Floats
    calendar: Floats
    sulphation: Floats
    frost: Floats
    calendar_late: Floats
    floating: Bools
    start: Floats
    soc: Floats  # (3, n): high with the slow case, low with the fast


def window(fleet: Fleet, today: Day, policy: Policy) -> DutyWindow:
    """When each car's battery is to be charged; on a maintainer, when that is to be looked at."""
    state = known_state(fleet, today, policy)
    dates = dates_of(fleet, state, policy)
    by_limit = np.array([dates.recharge[1], dates.frost, dates.calendar])
    filled = np.where(np.isnan(by_limit), np.inf, by_limit)
    limit = filled.argmin(axis=0)
    due = np.where(dates.floating, dates.start + policy.maintainer_check_days, filled.min(axis=0))
    early = np.where(dates.floating, due, np.fmin(dates.recharge[2], due))
    late = np.fmin(np.fmin(dates.sulphation, dates.frost), dates.calendar_late)
    return DutyWindow(
        *ordered(early, due, late),
        LIMITS,
        np.where(dates.floating, CHECK, limit),
        HOLDS,
        holds(fleet, state, today, due),
        unsure(state) & ~dates.floating,
    )


def dates_of(fleet: Fleet, state: State, policy: Policy) -> Dates:
    """All the days, from the newest known level; on a maintainer from when it was last seen to work."""
    floating = ~np.isnan(state.floating_since)
    seen = np.fmax(state.floating_since, np.minimum(fleet.last_attended, state.air.end_day))
    seen = np.where(np.isinf(seen), state.today - policy.maintainer_check_days, seen)
    start = np.where(floating, np.maximum(seen, state.air.first_day), state.day)
    half = NINETY_PERCENT_SD * state.sd
    soc = np.clip(np.array([state.soc + half, state.soc, state.soc - half]), 0.0, 1.0)
    soc = np.where(floating, 1.0, soc)
    recharge, sulphation = _reached(state, start, soc, policy)
    calendar, calendar_late = _calendar(fleet, state, start, np.array([1.0, policy.charge_late_factor]))
    return Dates(
        recharge,
        calendar,
        sulphation,
        _frost(fleet, state, start, soc[1], policy),
        np.where(floating, np.nan, calendar_late),
        floating,
        start,
        soc,
    )


def _reached(state: State, start: Floats, soc: Floats, policy: Policy) -> tuple[Floats, Floats]:
    """The days of the recharge level (3, n), slow, likely, fast, and of sulphation (n,).

    Level and rate are unsure each by itself: their parts of the spread are added as errors are.
    """
    above, harm = soc - policy.recharge_soc, soc[1] - policy.sulphation_soc
    amounts = np.array([above[0], above[2], above[1], above[1], above[1], harm])
    fuller, emptier, slow, likely, fast, sulphation = day_of(
        state.rates.cases((1, 1, 0, 1, 2, 1)), state.air, start, amounts
    )
    later = likely + np.hypot(fuller - likely, slow - likely)
    sooner = likely - np.hypot(likely - emptier, likely - fast)
    sooner = np.where(np.isnan(likely), np.fmin(emptier, fast), sooner)  # NaN: beyond the horizon
    return np.array([later, likely, np.maximum(sooner, start)]), sulphation


def _frost(fleet: Fleet, state: State, start: Floats, soc: Floats, policy: Policy) -> Floats:
    """When frost would reach each lead-acid battery (n,); only where a winter there can be so cold."""
    worst = np.array([coldest(_year(place, state), policy.cold_spell_k).min() for place in fleet.places])
    endangered = safe_soc(worst - policy.freeze_margin_k) > 0.0
    rows = np.flatnonzero(state.pack.lead & endangered[fleet.place])
    return freezing_day(fleet.places, state.air, state.rates.case(1), start, soc, rows, policy)


def _year(place: Place, state: State) -> Place:
    """All the days of a place that the totals cover."""
    return span(place, int(state.air.first_day), int(state.air.end_day))


def _is_hot(temp_c: Floats) -> Floats:
    return np.asarray(temp_c > HOT_C, float)


def _calendar(fleet: Fleet, state: State, start: Floats, intervals: Floats) -> Floats:
    """The days (k, n) when so many (k,) refreshing intervals have passed; each hot hour counts for more.

    Above 27 °C the interval shortens from ``interval`` to ``hot_interval``; counting hours keeps the
    day moving evenly with the start, where a rule on the mean would jump.
    """
    usual = at(BATTERIES, state.pack.chemistry, "interval")[1]
    extra = usual / at(BATTERIES, state.pack.chemistry, "hot_interval")[1] - 1.0
    hot_days = totals(fleet.places, _is_hot, int(state.air.first_day), int(state.air.end_day))
    scale = np.where(extra > 0.0, extra, 1.0)
    spans = np.multiply.outer(intervals, usual)
    day = reach_each(hot_days, fleet.place, state.air.first_day, start, 1.0 / scale, spans / scale)
    return np.asarray(np.where(extra > 0.0, day, start + spans))
