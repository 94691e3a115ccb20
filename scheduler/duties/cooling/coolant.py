"""Duty ``coolant``: the inhibitor's life or the coming frost, whichever comes first, and which it is.

Two limits that have nothing to do with each other: the inhibitor ages by the calendar however
strong the mixture; the freezing point stays what it is however old the mixture.
"""

import numpy as np

from scheduler.duties.conditions import Bools, Fleet, Floats, Ints
from scheduler.duties.cooling.words import Reasons, Strength, explanation
from scheduler.duties.fluids import (
    DRAINED_HOLD,
    Check,
    age_window,
    changed,
    checked,
    drained_hold,
    fill,
    kinds,
)
from scheduler.duties.measured import newest
from scheduler.duties.policy import Policy
from scheduler.duties.windows import Band, Day, DutyWindow, Explanation, Level, each_row, ordered
from scheduler.duties.words import one_car
from scheduler.physics.climate import coldest
from scheduler.physics.fluids.coolant import (
    GOOD_PH,
    SPENT_PH,
    UNKNOWN_SHARE,
    freezing_point_c,
    table_end_share,
)
from scheduler.physics.fluids.fluids import FLUID_KINDS
from scheduler.physics.materials import at
from scheduler.vocabulary.units import DAYS_PER_MONTH

FLUID = "coolant"
GLYCOL = np.array([kind.glycol for kind in FLUID_KINDS])
LIMITS = ("life of the inhibitor", "frost at this strength", "inhibitor by test strip")
INHIBITOR, FROST, TESTED = range(3)
LOOK_BACK_DAYS = 30.0  # cold of the past month still counts: the same mixture is in the car
HALF_A_SPELL, LIKELY = 0.5, 1  # policy: a night to reckon with, half as far below the usual as the coldest
FEW = 8
LEAD_DAYS = 30.0  # strength is tested this long before the frost (policy)
COLDEST_TESTED_C = -60.0  # below any refractometer's scale: a typing error


def strength(fleet: Fleet, today: Day) -> Strength:
    """Where each car's coolant freezes: measured, else from the recorded share, else assumed."""
    read = newest(fleet, "coolant_freeze_point", changed(fleet, FLUID), today, COLDEST_TESTED_C, 0.0)
    glycol = GLYCOL[kinds(fleet, FLUID)]
    freezing, beyond = np.full((3, len(fleet)), np.nan), np.zeros(len(fleet), bool)
    for name in np.unique(glycol):
        rows, end = glycol == name, table_end_share(str(name))
        share = fleet.coolant_share[rows]
        beyond[rows] = share > end
        usable = np.where((share >= 0) & (share <= end), share, np.nan)
        usual = np.array(UNKNOWN_SHARE.range)[:, None]
        freezing[:, rows] = freezing_point_c(np.where(np.isnan(usable), usual, usable), str(name))
        end_c = freezing_point_c(end, str(name)) if name else COLDEST_TESTED_C
        # Nothing may be claimed beyond the table's end, whatever the tester shows.
        freezing[:, rows] = np.where(
            np.isnan(read.value[rows]), freezing[:, rows], np.fmax(read.value[rows], end_c)
        )
    silent = np.isnan(fleet.coolant_share) | beyond
    assumed = np.isnan(read.value) & silent & (glycol != "")
    return Strength(freezing, read.value, read.day, beyond, assumed, read.refused)


def _first_below(fleet: Fleet, today: Day, spell_k: float, limit_c: Floats) -> Floats:
    """The first day, from a month back on, when a cold night may reach each car's limit; NaN: none."""
    day, since = np.full(len(fleet), np.nan), each_row(today, len(fleet)) - LOOK_BACK_DAYS
    for position, place in enumerate(fleet.places):
        rows = np.flatnonzero(fleet.place == position)
        if rows.size:
            start = np.maximum(since[rows], place.first_day).astype(np.int64)
            first = int(start.min())
            index = _first_at_most(
                coldest(place, spell_k)[first - place.first_day :], start - first, limit_c[rows]
            )
            day[rows] = np.where(np.isnan(index), np.nan, first + index)
    return day


def _first_at_most(course: Floats, start: Ints, limit: Floats) -> Floats:
    """The first position (k,) from ``start`` (k,) on with ``course`` (d,) at most ``limit`` (k,); NaN: none.

    Minima of 1, 2, 4.. days ahead; spans without any such day are leapt over, the longest first. For a few
    cars it is quicker to look at every day.
    """
    if start.size <= FEW:
        return np.array(
            [_first_cold(course[begin:], most) + begin for begin, most in zip(start, limit, strict=True)]
        )
    minima = [course]
    for level in range(int(course.size).bit_length() - 1):
        ahead = np.concatenate([minima[-1][1 << level :], np.full(1 << level, np.inf)])
        minima.append(np.minimum(minima[-1], ahead))
    at = start.copy()
    for level in reversed(range(len(minima))):
        inside = np.minimum(at, course.size - 1)
        at += ((at < course.size) & ~(minima[level][inside] <= limit)).astype(np.int64) << level
    return np.where(at < course.size, at.astype(float), np.nan)


def _first_cold(course: Floats, limit: float) -> float:
    cold = course <= limit
    at = int(cold.argmax()) if cold.size else 0
    return float(at) if cold.size and cold[at] else np.nan


def may_be_frozen(fleet: Fleet, today: Day, policy: Policy) -> Bools:
    """Where a cold night at this time of the year may freeze what is in the cooling system, (n,).

    Only where the mixture is on record: of an unknown one nothing is claimed.
    """
    known, freezes = strength(fleet, today), np.empty(len(fleet), bool)
    day = each_row(today, len(fleet))
    for position, place in enumerate(fleet.places):
        (rows,) = np.nonzero(fleet.place == position)
        at = np.clip(day[rows] - place.first_day, 0, place.days - 1).astype(np.int64)
        night_c = coldest(place, HALF_A_SPELL * policy.cold_spell_k)[at]
        freezes[rows] = night_c < known.freezing_c[LIKELY, rows]
    return freezes & ~known.assumed


def strip(fleet: Fleet, today: Day) -> Check:
    """What the newest test strip since the change says of the inhibitor, (n,)."""
    ph = newest(fleet, "coolant_ph", changed(fleet, FLUID), today, -np.inf, np.inf)
    return Check(ph.day, ph.value >= GOOD_PH.value, ph.value < SPENT_PH.value)


def window(fleet: Fleet, today: Day, policy: Policy) -> DutyWindow:
    """When each car's coolant is to be changed or strengthened."""
    life = at(FLUID_KINDS, kinds(fleet, FLUID), "inhibitor_months") * DAYS_PER_MONTH
    filled, frost = fill(fleet, FLUID, today, life[1]), strength(fleet, today)
    aged = age_window(filled, life[1], policy.fluid_tolerance)
    by_age = checked(aged, strip(fleet, today), filled, life[2], policy)
    by_frost = _frost_window(fleet, today, policy, frost)
    early, due, late = (np.fmin(age, cold) for age, cold in zip(by_age, by_frost, strict=True))
    limit = np.where(by_age[1] != aged[1], TESTED, INHIBITOR)
    limit = np.where(by_frost[1] < by_age[1], FROST, limit)
    return DutyWindow(
        *ordered(early, due, late),
        LIMITS,
        limit,
        (DRAINED_HOLD,),
        drained_hold(fleet),
        filled.assumed | frost.assumed,
    )


def _frost_window(fleet: Fleet, today: Day, policy: Policy, frost: Strength) -> tuple[Floats, Floats, Floats]:
    """Early, due and late by frost; a breach from before this fill or test counts from that day on."""
    weakest, likely, _ = frost.freezing_c
    since = np.fmax(changed(fleet, FLUID), frost.measured_on)
    limits = (weakest + policy.coolant_margin_k, likely + policy.coolant_margin_k, likely)
    early, due, late = (
        np.where(
            np.isnan(day := _first_below(fleet, today, policy.cold_spell_k, limit)), day, np.fmax(day, since)
        )
        for limit in limits
    )
    return np.fmin(early, due - LEAD_DAYS), due, late


def explain(fleet: Fleet, today: float, policy: Policy) -> Explanation:
    """Why one car's coolant falls due when it does."""
    one_car(fleet)
    life = at(FLUID_KINDS, kinds(fleet, FLUID), "inhibitor_months")[1] * DAYS_PER_MONTH
    filled = fill(fleet, FLUID, today, life)
    frost = strength(fleet, today)
    frost_due = float(_frost_window(fleet, today, policy, frost)[1][0])
    reasons = Reasons(frost, frost_due, filled, strip(fleet, today))
    return explanation(fleet, today, policy, window(fleet, today, policy), reasons)


def band(fleet: Fleet, days: Floats, policy: Policy) -> Band:
    """The night air at one car's place against its coolant's freezing point, over ``days`` (d,)."""
    place = one_car(fleet).places[int(fleet.place[0])]
    index = np.clip(np.asarray(days, np.int64) - place.first_day, 0, place.days - 1)
    freezing = float(strength(fleet, float(days[-1])).freezing_c[1, 0])
    levels = (Level("coolant freezes", freezing), Level("act", freezing + policy.coolant_margin_k))
    cold = coldest(place, policy.cold_spell_k)
    low, likely, high = cold[index], place.min_c[index], place.mean_c[index]
    return Band("night air", "°C", np.asarray(days, float), low, likely, high, levels)
