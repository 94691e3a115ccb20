"""Treat petrol with stabiliser while it is fresh: before that it is early, after that it is no use.

Due when a quarter of the life is used, too late when half is (both policy). Held, with a reason,
where a dose cannot help; then ``fuel_change`` says what can.
"""

import numpy as np
import numpy.typing as npt

from scheduler.duties.conditions import Fleet
from scheduler.duties.fuel import fuel_change
from scheduler.duties.fuel.fuel_change import band
from scheduler.duties.fuel.limits import OXIDATION, life_used_days
from scheduler.duties.fuel.outlook import FuelOutlook, fuel_outlook
from scheduler.duties.fuel.reasons import assumptions, fuel_words, inputs
from scheduler.duties.fuel.state import FuelNow, advance
from scheduler.duties.fuel.steps import oxidation_step
from scheduler.duties.policy import Policy
from scheduler.duties.windows import NOT_HELD, Day, DutyWindow, Explanation, Source, Step, ordered
from scheduler.duties.words import cited, one_car, spoken
from scheduler.physics.fuel import dose as fuel_dose
from scheduler.physics.fuel import oxidation as fuel_oxidation

__all__ = ["band", "explain", "window"]  # its curve is the fuel's

Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]

LIMITS = ("fresh fuel going stale", "treated fuel reaching the end of its life")
HOLDS = (
    "stabiliser cannot restore separated fuel: drain it",
    "stabiliser cannot restore stale fuel: drain it",
    "the fuel is too old for stabiliser to serve: plan to change it",
    "already treated: next comes a change of fuel",
)
SEPARATED, STALE, PAST_TREATING, TREATED = range(len(HOLDS))
LOW, LIKELY, HIGH = range(3)
TREATED_SHARE = 0.9  # policy: a splash of untreated fuel on top does not call for another dose


def window(fleet: Fleet, today: Day, policy: Policy) -> DutyWindow:
    """When each tank's petrol is to be treated; no dates for diesel and for empty tanks."""
    return _window(fuel_outlook(fleet, today, policy), today, policy)


def _window(outlook: FuelOutlook, today: Day, policy: Policy) -> DutyWindow:
    now, days = outlook.now, outlook.days
    state, treated = now.state, _treated(now)
    at_due = life_used_days(now, policy.stabilise_by_life)
    at_late = life_used_days(now, policy.stabiliser_serves_until_life)
    early, due, late = ordered(at_due[HIGH], at_due[LIKELY], at_late[LIKELY])
    ends = ordered(days[OXIDATION, HIGH], days[OXIDATION, LIKELY], days[OXIDATION, LOW])
    none = now.tanks.diesel | ~(state.litres > 0)
    early, due, late = (
        np.where(none, np.nan, np.where(treated, end, fresh))
        for fresh, end in zip((early, due, late), ends, strict=True)
    )
    return DutyWindow(
        early=early,
        due=due,
        late=late,
        limits=LIMITS,
        limit=treated.astype(np.int64),
        holds=HOLDS,
        hold=np.where(none, NOT_HELD, _holds(outlook, today, policy)),
        assumed=state.assumed | now.tanks.assumed,
    )


def _treated(now: FuelNow) -> Bools:
    return now.state.treated >= TREATED_SHARE


def _holds(outlook: FuelOutlook, today: Day, policy: Policy) -> Ints:
    """The first reason, worst first, why a dose would not help today."""
    now = outlook.now
    later = advance(now.state, now.tanks, now.air, np.maximum(now.state.since, today))
    past = later.used[LIKELY] >= policy.stabiliser_serves_until_life
    reasons = [
        fuel_change.separated(outlook, today),
        fuel_change.stale(outlook, today),
        past & ~_treated(now),
        _treated(now),
    ]
    return np.select(reasons, list(range(len(HOLDS))), NOT_HELD).astype(np.int64)


def explain(fleet: Fleet, today: float, policy: Policy) -> Explanation:
    """Why this one car's fuel is to be treated then, how much to pour and how long to run."""
    outlook = fuel_outlook(one_car(fleet), today, policy)
    now, when = outlook.now, _window(outlook, today, policy)
    summary = _summary(fleet, now, when, today)
    if np.isnan(when.due[0]):
        return Explanation(summary, inputs(fleet, now, today), (), ())
    treated = bool(_treated(now)[0])
    share = 1.0 if treated else policy.stabilise_by_life
    return Explanation(
        summary=summary,
        inputs=inputs(fleet, now, today),
        steps=(oxidation_step(now, share, life_used_days(now, share)[:, 0], today), *_dose_steps(now)),
        sources=_sources(),
        assumptions=assumptions(fleet, now),
    )


def _summary(fleet: Fleet, now: FuelNow, when: DutyWindow, today: float) -> str:
    what = fuel_words(fleet, now)
    what = what[0].upper() + what[1:]
    if not now.state.litres[0] > 0:
        return "The tank is empty: nothing to treat."
    if now.tanks.diesel[0]:
        return f"{what}: keep it full and free of water; see the change of fuel for its life."
    if when.hold[0] != NOT_HELD:
        until = f" Its treated life ends about {spoken(when.due[0])}." if when.hold[0] == TREATED else ""
        return f"{what}: {HOLDS[int(when.hold[0])]}.{until}"
    if np.isnan(when.due[0]):
        return f"{what}: it stays fresh here for more than four years."
    lead = "was best treated by" if when.due[0] < today else "is best treated by"
    return (
        f"{what} {lead} {spoken(when.due[0])}; after {spoken(when.late[0])} a dose no longer serves. "
        "Pour it before topping up, then drive to draw it through."
    )


def _dose_steps(now: FuelNow) -> tuple[Step, Step]:
    litres = float(now.state.litres[0] * (1.0 - now.state.treated[0]))
    idle, drive = (
        float(fuel_dose.draw_through_minutes(flow.value))
        for flow in (fuel_dose.IDLE_ML_PER_MIN, fuel_dose.DRIVE_ML_PER_MIN)
    )
    return (
        Step(
            "dose",
            "mL = litres not yet treated × 1000 / ratio on the label",
            f"{litres:.0f} L × 1000 / ratio; round up to the label's next mark",
        ),
        Step(
            "drawing it through",
            "minutes = (V_line + V_mixed ln 20) / flow",
            f"({fuel_dose.LINE_ML.value:.0f} + {fuel_dose.MIXED_ML.value:.0f} × 3.00) mL: "
            f"{drive:.0f} min driving, {idle:.0f} min idling",
        ),
    )


def _sources() -> tuple[Source, ...]:
    constants = (
        fuel_oxidation.Q10,
        fuel_oxidation.TREATED_CLOSED,
        fuel_dose.IDLE_ML_PER_MIN,
        fuel_dose.LINE_ML,
    )
    return (Source(fuel_oxidation.STORAGE_RULES, "published"), *(cited(constant) for constant in constants))
