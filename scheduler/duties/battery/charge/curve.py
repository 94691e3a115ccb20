"""One battery's state of charge day by day: past levels joined by the forecast between them."""

from dataclasses import dataclass

import numpy as np

from scheduler.duties.battery.charge.decline import lost
from scheduler.duties.battery.charge.evidence import CHARGE, KINDS
from scheduler.duties.battery.charge.hardening import losses
from scheduler.duties.battery.charge.state import State, known_state
from scheduler.duties.conditions import Fleet, Floats, Ints
from scheduler.duties.learning import NINETY_PERCENT_SD
from scheduler.duties.policy import Policy
from scheduler.duties.windows import Band, Level
from scheduler.duties.words import one_car

FROM_SLOW_TO_FAST = (1.0, 0.0, -1.0)


@dataclass(frozen=True)
class Line:
    """From which days and levels (k,) one case of the curve sets out, and the capacity left then (k,)."""

    start: Floats
    soc: Floats
    left: Floats


def band(fleet: Fleet, days: Floats, policy: Policy) -> Band:
    """State of charge of one car over ``days`` (d,), NaN before anything is known; 0 to 1."""
    one_car(fleet)
    days = np.asarray(days, float)
    state = known_state(fleet, float(days[-1]), policy)
    start, soc, sd, left = _levels(state)
    at = np.searchsorted(start, days, side="right") - 1
    known = at >= 0
    cases = [
        _case(state, days, Line(start, soc + sign * NINETY_PERCENT_SD * sd, left[index]), at, index)
        for index, sign in enumerate(FROM_SLOW_TO_FAST)
    ]
    high, likely, low = (np.where(known, case, np.nan) for case in cases)
    floating = _on_maintainer(fleet, days)
    high, likely = np.where(floating, 1.0, high), np.where(floating, 1.0, likely)
    low = np.where(floating, _if_it_failed(fleet, state, days), low)
    levels = (Level("recharge", policy.recharge_soc), Level("sulphation", policy.sulphation_soc))
    return Band("state of charge", "of full", days, low, likely, high, levels)


def _levels(state: State) -> tuple[Floats, Floats, Floats, Floats]:
    """Days, levels and standard deviations (k,) from which the curve sets out, in order; and what was left
    then (3, k), by case, of the capacity that the rates are reckoned with."""
    says = ~np.isnan(state.events.soc)
    if not says.any():
        return state.day, state.soc, state.sd, np.ones((len(FROM_SLOW_TO_FAST), 1))
    events, clock = state.events, state.hardened
    # a charger may stop short of full, as for the newest level in ``known_state``
    charge = (events.kind == KINDS.index(CHARGE))[says]
    soc = np.clip(events.soc[says] - charge * state.learned.short[0], 0.0, 1.0)
    sd = np.hypot(events.sd[says], charge * state.learned.short_sd[0])
    kind = np.repeat(state.pack.chemistry, charge.size)
    _, missing = losses(clock.at_events[says], clock.charged_at_events[says], kind)
    return events.day[says], soc, sd, (1.0 - missing) / state.pack.unhardened


def _case(state: State, days: Floats, line: Line, at: Ints, index: int) -> Floats:
    base, row = np.maximum(at, 0), np.zeros(days.size, np.int64)
    since = np.minimum(line.start[base], days)
    gone = lost(state.rates.case(index), state.air, row, since, days, line.left[base])
    return np.asarray(np.clip(np.clip(line.soc[base], 0.0, 1.0) - gone, 0.0, 1.0))


def _if_it_failed(fleet: Fleet, state: State, days: Floats) -> Floats:
    """The least that is left (d,) if the maintainer's power went when it was last seen to work."""
    table, visit = fleet.charges, fleet.last_attended[0]
    begun = np.where(table.day <= days[:, None], table.day, -np.inf).max(axis=1, initial=-np.inf)
    seen = np.where(days >= visit, np.fmax(begun, visit), begun)
    since = np.clip(seen, state.air.first_day, days)
    row = np.zeros(days.size, np.int64)
    return np.asarray(np.clip(1.0 - lost(state.rates.case(2), state.air, row, since, days), 0.0, 1.0))


def _on_maintainer(fleet: Fleet, days: Floats) -> np.ndarray:
    """Whether each day (d,) falls within a spell on the maintainer."""
    table = fleet.charges
    within = (days[:, None] >= table.day) & ~(days[:, None] > table.until) & (table.until != table.day)
    return np.asarray(within.any(axis=1))
