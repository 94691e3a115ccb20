"""Duties ``engine_oil``, ``gearbox_oil`` and ``axle_oil``: change by time, short runs and damp."""

import numpy as np

from scheduler.duties.conditions import REGIMES, TAGS, Bools, Fleet, Floats, Ints
from scheduler.duties.dampness import damp_shares
from scheduler.duties.fluids import (
    DRAINED_HOLD,
    age_window,
    changed,
    check_words,
    checked,
    drained,
    fill,
    fill_assumptions,
    fill_input,
    kind_input,
    kinds,
    look,
)
from scheduler.duties.policy import Policy
from scheduler.duties.windows import NOT_HELD, Day, DutyWindow, Explanation, Input, Source, Step, ordered
from scheduler.duties.words import number, one_car, spoken
from scheduler.physics.fluids.fluids import FLUID_KINDS
from scheduler.physics.fluids.oil import (
    ANNUAL_GEAR_OIL,
    COLD_RUNNING,
    EXTENDED_OIL,
    HANDBOOK_GEAR_OIL,
    LAY_UP_OIL,
    PRESERVATIVE_OIL,
    STANDBY_OIL,
    WARM_OIL,
    interval_days,
    ran_short,
)
from scheduler.physics.materials import at
from scheduler.vocabulary.constants import Standing
from scheduler.vocabulary.units import DAYS_PER_MONTH

ENGINE = "engine_oil"  # runs with the engine, so its runs and its preserving tell on it; gear oils rest
LIMITS = ("age of the oil", "short runs since it was last fully warm", "what was seen when it was looked at")
PRESERVED, DORMANT = (REGIMES.index(code) for code in ("preserved", "dormant"))
AGE, SHORT, SEEN = range(3)
# Months since the fill beyond which no look moves a change: of engine oil at rest, warm, short; of gear oil.
LONGEST_MONTHS, LONGEST_WARM_MONTHS, LONGEST_SHORT_MONTHS, LONGEST_GEAR_MONTHS = 36.0, 24.0, 12.0, 120.0
CAUTION = (
    "Never under a car on a jack alone: stands on hard level floor, the rest chocked. Oil drains best warm, "
    "and burns; run an engine only with extraction or in the open. Old oil to collection, never the drain."
)
HOLDS = (DRAINED_HOLD, "preservative oil stays in until the engine is recommissioned: do not drain")


def _rests(fleet: Fleet) -> Bools:
    """Cars that are recorded as preserved or dormant; a silent record counts as run, the careful side."""
    return np.asarray((fleet.regime == PRESERVED) | (fleet.regime == DORMANT))


def _short_runs(fleet: Fleet, fluid: str) -> Bools:
    if fluid != ENGINE:
        return np.zeros(len(fleet), bool)
    return ran_short(fleet.last_engine_run, fleet.last_full_warm, _since_change(fleet)) & _rests(fleet)


def _months(fleet: Fleet, fluid: str, policy: Policy) -> Floats:
    if fluid != ENGINE:
        return np.where(_rests(fleet), policy.gear_oil_resting_months, policy.gear_oil_months)
    standby, warm, resting = _of_engine(
        policy.engine_oil_standby_months, policy.engine_oil_warm_months, policy.engine_oil_months
    )
    return np.select([_runs_short(fleet), ~_rests(fleet)], [standby, warm], resting)


def _of_engine(short: float, warm: float, resting: float) -> tuple[float, float, float]:
    """The three in order: harder use never has the longer interval."""
    return min(short, warm, resting), min(warm, resting), resting


def _runs_short(fleet: Fleet) -> Bools:
    """Where water and fuel may be in the engine's oil: run short, or run and nobody knows how warm."""
    unknown = ~_rests(fleet) & np.isnan(fleet.last_full_warm)
    short = ran_short(fleet.last_engine_run, fleet.last_full_warm, _since_change(fleet))
    return np.asarray(unknown | short)


def _since_change(fleet: Fleet) -> Floats:
    return np.where(np.isnan(changed(fleet, ENGINE)), -np.inf, changed(fleet, ENGINE))


def _longest(fleet: Fleet, fluid: str, policy: Policy) -> Floats:
    """Days since the fill beyond which no look moves the change (n,)."""
    if fluid != ENGINE:
        months = np.full(len(fleet), LONGEST_GEAR_MONTHS)
    else:
        short, warm, resting = LONGEST_SHORT_MONTHS, LONGEST_WARM_MONTHS, LONGEST_MONTHS
        months = np.select([_runs_short(fleet), ~_rests(fleet)], [short, warm], resting)
    return np.asarray(np.maximum(months, _months(fleet, fluid, policy)) * DAYS_PER_MONTH)


def _interval(fleet: Fleet, fluid: str, today: Day, policy: Policy) -> Floats:
    damp = damp_shares(fleet, today, policy)
    return interval_days(_months(fleet, fluid, policy), damp, policy.damp_oil_factor)


def _hold(fleet: Fleet, fluid: str) -> Ints:
    """Only what holds the engine's oil: an empty sump, or oil that is there to preserve."""
    if fluid != ENGINE:
        return np.full(len(fleet), NOT_HELD)
    stays = at(FLUID_KINDS, kinds(fleet, fluid), "stays_in").astype(bool)
    stays |= fleet.tags[:, TAGS.index("engine_preserved")]
    return np.select([drained(fleet), stays], [0, 1], NOT_HELD)


def window_of(fluid: str, fleet: Fleet, today: Day, policy: Policy) -> DutyWindow:
    """When each car's oil of this kind is to be changed."""
    life = _interval(fleet, fluid, today, policy)
    filled = fill(fleet, fluid, today, life)
    early, due, _ = age_window(filled, life, policy.fluid_tolerance)
    late = np.where(filled.assumed, np.nan, filled.latest + life * policy.oil_late_factor)
    seen = look(fleet, fluid, today)
    by_age = due
    early, due, late = checked((early, due, late), seen, filled, _longest(fleet, fluid, policy), policy)
    assumed = filled.assumed | (fleet.regime < 0)
    limit = np.where(due != by_age, SEEN, np.where(_short_runs(fleet, fluid), SHORT, AGE))
    return DutyWindow(*ordered(early, due, late), LIMITS, limit, HOLDS, _hold(fleet, fluid), assumed)


def explanation_of(fluid: str, fleet: Fleet, today: float, policy: Policy) -> Explanation:
    """Why one car's oil of this kind is to be changed then."""
    window = window_of(fluid, one_car(fleet), today, policy)
    life = _interval(fleet, fluid, today, policy)
    filled = fill(fleet, fluid, today, life)
    damp_pct = float(100 * damp_shares(fleet, today, policy)[0])
    inputs = (
        kind_input(fleet, fluid),
        fill_input(filled),
        Input("the car", _care(fleet), "", "record" if fleet.regime[0] >= 0 else "assumed"),
        Input("interval", float(_months(fleet, fluid, policy)[0]), "months", "policy"),
        Input("damp days of the past year", damp_pct, "%", "climate"),
    )
    unknown_care = ("The care is not recorded: taken as a car that is run.",) if fleet.regime[0] < 0 else ()
    return Explanation(
        _summary(fluid, fleet, window, _months(fleet, fluid, policy)[0], life[0])
        + check_words(look(fleet, fluid, today), "A look", policy),
        inputs,
        (_step(fleet, fluid, life[0], damp_pct / 100, policy), Step("Caution", "at the drain", CAUTION)),
        _sources(fluid),
        fill_assumptions(fleet, fluid, filled) + unknown_care,
    )


def _care(fleet: Fleet) -> str:
    return "rests" if _rests(fleet)[0] else "is run"


def _summary(fluid: str, fleet: Fleet, window: DutyWindow, months: float, life_days: float) -> str:
    text = (
        f"The {fluid.replace('_', ' ')} of a car that {_care(fleet)} is changed every {number(months)} "
        f"months, in this damp every {number(life_days)} days: due {spoken(window.due[0])}."
    )
    if window.limit[0] == SHORT:
        text += " It was run short since it was last fully warm, so water and acids are in the oil."
    if window.hold[0] != NOT_HELD:
        text += f" Held for now: {HOLDS[window.hold[0]]}."
    return text


def _step(fleet: Fleet, fluid: str, life_days: float, damp: float, policy: Policy) -> Step:
    months, factor = _months(fleet, fluid, policy)[0], policy.damp_oil_factor
    shortened = f"(1 − (1 − {number(factor, 2)}) × {number(damp, 2)})"
    worked = f"{number(months)} × {number(DAYS_PER_MONTH, 2)} × {shortened} = {number(life_days)} days"
    return Step("Days between changes", "months × days a month × (1 − (1 − f) × damp share)", worked)


def _sources(fluid: str) -> tuple[Source, ...]:
    if fluid != ENGINE:
        return (
            Source(HANDBOOK_GEAR_OIL, Standing.COMMON_PRACTICE),
            Source(ANNUAL_GEAR_OIL, Standing.PUBLISHED),
            Source(EXTENDED_OIL, Standing.PUBLISHED),
        )
    return (
        Source(STANDBY_OIL, Standing.PUBLISHED),
        Source(WARM_OIL, Standing.PUBLISHED),
        Source(LAY_UP_OIL, Standing.COMMON_PRACTICE),
        Source(COLD_RUNNING, Standing.PUBLISHED),
        Source(PRESERVATIVE_OIL, Standing.PUBLISHED),
    )
