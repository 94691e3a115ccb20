"""Duty ``brake_fluid``: replace by age, or at once where water was measured.

Age decides the date because water cannot be forecast from it; a measurement overrides the age. Little water
moves the change on by a year, once: no later than three years after the fill, since inhibitors age too and
waiting longer was found to matter. What boils a drop of it is turned into the water that it tells of.
"""

import numpy as np

from scheduler.duties.conditions import Bools, Fleet, Floats
from scheduler.duties.fluids import (
    Check,
    Fill,
    age_window,
    changed,
    check_words,
    checked,
    fill,
    fill_assumptions,
    fill_input,
    kind_input,
    kind_of,
    kinds,
)
from scheduler.duties.measured import Newest, newest
from scheduler.duties.policy import Policy
from scheduler.duties.windows import NOT_HELD, Day, DutyWindow, Explanation, Input, Source, Step, ordered
from scheduler.duties.words import known_day, number, one_car, spoken
from scheduler.physics.fluids.brake_fluid import (
    GOOD_WATER_PCT,
    LITTLE_GAIN_MONTHS,
    LR_903,
    REPLACE_MONTHS,
    WATER_END_PCT,
    WET_TEST_WATER_PCT,
    boiling_point_c,
    depression_k,
    must_replace,
    water_by_boiling_pct,
)
from scheduler.physics.fluids.fluids import FLUID_KINDS, FMVSS_116
from scheduler.physics.materials import at
from scheduler.vocabulary.constants import Standing
from scheduler.vocabulary.units import DAYS_PER_MONTH

FLUID = "brake_fluid"
LIMITS = (
    "age of the fluid",
    "water measured in it",
    "water lying free in silicone fluid",
    "so long after it was tested good",
)
AGE, WATER, FREE_WATER, TESTED = range(4)
CAUTION = (
    "Goggles and gloves; it strips paint. Never mix silicone with glycol. A qualified hand bleeds the brakes "
    "and the car does not move before the pedal is hard."
)


def _water(fleet: Fleet, today: Day) -> Newest:
    """The newest water share measured since the change, in %, or told by its boiling point; silicone fluid
    has none to measure.

    What is measured on the day of the change is what came out.
    """
    since = changed(fleet, FLUID) + 1.0
    water = newest(fleet, "brake_water", since, today, 0.0, WATER_END_PCT.value)
    boils = newest(fleet, "brake_boiling_point", since, today, -np.inf, np.inf)
    if np.isnan(boils.day).all():
        return water
    dry, wet = (at(FLUID_KINDS, kinds(fleet, FLUID), name)[1] for name in ("dry_boil_c", "wet_boil_c"))
    share = water_by_boiling_pct(boils.value, dry, depression_k(dry, wet))
    later = ~(boils.day < water.day) & ~np.isnan(boils.day)
    return Newest(np.where(later, share, water.value), np.where(later, boils.day, water.day), water.refused)


def _takes_water(fleet: Fleet) -> Bools:
    return at(FLUID_KINDS, kinds(fleet, FLUID), "takes_water").astype(bool)


def _life_days(fleet: Fleet, policy: Policy) -> Floats:
    return np.full(len(fleet), policy.brake_fluid_months * DAYS_PER_MONTH)


def _longest(policy: Policy) -> Floats:
    """Days since the fill beyond which no test moves the change."""
    return np.asarray(max(LITTLE_GAIN_MONTHS.value, policy.brake_fluid_months) * DAYS_PER_MONTH)


def _check(water: Newest, takes: Bools) -> Check:
    """Tests that found little water; what they found too much of has limits of its own."""
    return Check(water.day, takes & (water.value < GOOD_WATER_PCT.value), np.zeros(takes.size, bool))


def window(fleet: Fleet, today: Day, policy: Policy) -> DutyWindow:
    """When each car's brake fluid is to be replaced (silicone: its low points drawn off)."""
    life, water, takes = _life_days(fleet, policy), _water(fleet, today), _takes_water(fleet)
    filled = fill(fleet, FLUID, today, life)
    by_age = age_window(filled, life, policy.fluid_tolerance)
    wet = must_replace(water.value, takes, water_limit_pct=policy.brake_water_pct)
    early, due, late = checked(by_age, _check(water, takes), filled, _longest(policy), policy)
    tested_dry = takes & ~wet & ~np.isnan(water.value)
    no_gain = filled.latest + LITTLE_GAIN_MONTHS.value * DAYS_PER_MONTH
    late = np.where(tested_dry & ~np.isnan(late), np.fmax(late, no_gain), late)
    grace = np.where(water.value >= WET_TEST_WATER_PCT.value, 0.0, policy.fluid_tolerance * life)
    limit = np.select([~takes, wet & (water.day <= due)], [FREE_WATER, WATER], AGE)
    early, due = (np.where(wet, np.fmin(day, water.day), day) for day in (early, due))
    late = np.where(wet, np.fmin(late, water.day + grace), late)
    limit = np.where((limit == AGE) & (due != by_age[1]), TESTED, limit)
    held = np.full(len(fleet), NOT_HELD)
    return DutyWindow(*ordered(early, due, late), LIMITS, limit, (), held, filled.assumed)


def explain(fleet: Fleet, today: float, policy: Policy) -> Explanation:
    """Why one car's brake fluid falls due when it does."""
    due = window(one_car(fleet), today, policy)
    filled, water = fill(fleet, FLUID, today, _life_days(fleet, policy)), _water(fleet, today)
    inputs = [
        kind_input(fleet, FLUID),
        fill_input(filled),
        Input("replace after", policy.brake_fluid_months, "months", "policy"),
    ]
    if measured := bool(_takes_water(fleet)[0] and not np.isnan(water.value[0])):
        inputs.append(Input("water", float(water.value[0]), "%", "reading", known_day(water.day[0])))
    steps = [_age_step(fleet, filled, policy), Step("Caution", "at the brakes", CAUTION)]
    if measured:
        steps.append(_boiling_step(fleet, float(water.value[0])))
    return Explanation(
        _summary(fleet, due, water, policy),
        tuple(inputs),
        tuple(steps),
        _sources(),
        _assumptions(fleet, filled, water),
    )


def _summary(fleet: Fleet, due: DutyWindow, water: Newest, policy: Policy) -> str:
    kind, when = kind_of(fleet, FLUID).label, spoken(due.due[0])
    if due.limit[0] == FREE_WATER:
        return f"{kind} takes up no water, but water lies free at its low points: draw it off by {when}."
    if due.limit[0] == WATER:
        return (
            f"{number(water.value[0], 1)} % water was measured on {spoken(water.day[0])}, "
            f"at or above the limit of {number(policy.brake_water_pct, 1)} %: replace it now."
        )
    months = number(policy.brake_fluid_months)
    tested = _check(water, _takes_water(fleet))
    return f"{kind[0].upper()}{kind[1:]}: replaced after {months} months, due {when}." + check_words(
        tested, "The test", policy
    )


def _assumptions(fleet: Fleet, filled: Fill, water: Newest) -> tuple[str, ...]:
    texts = list(fill_assumptions(fleet, FLUID, filled))
    if water.refused:
        texts.append(
            f"{water.refused} reading(s) outside 0 to {number(WATER_END_PCT.value)} % water were not used."
        )
    if not _takes_water(fleet)[0] and not np.isnan(water.value[0]):
        texts.append("The water reading was not used: a water tester means nothing in silicone fluid.")
    return tuple(texts)


def _age_step(fleet: Fleet, filled: Fill, policy: Policy) -> Step:
    months, start = policy.brake_fluid_months, filled.likely[0]
    worked = (
        f"{spoken(start)} + {number(months)} × {number(DAYS_PER_MONTH, 2)} days = "
        f"{spoken(start + _life_days(fleet, policy)[0])}"
    )
    return Step("Replace by age", "changed on + months × days a month", worked)


def _boiling_step(fleet: Fleet, water_pct: float) -> Step:
    code = kinds(fleet, FLUID)
    dry, wet = (float(at(FLUID_KINDS, code, name)[1, 0]) for name in ("dry_boil_c", "wet_boil_c"))
    fall = float(depression_k(dry, wet))
    boils = float(boiling_point_c(water_pct, dry, fall))
    worked = (
        f"{number(dry)} − {number(fall, 1)} × {number(water_pct, 1)} / (1 + {number(water_pct, 1)}) = "
        f"{number(boils)} °C; the grade's limits are {number(dry)} °C dry and {number(wet)} °C wet"
    )
    return Step("Boiling point at this water share (estimate)", "T_dry − A w / (1 + w)", worked)


def _sources() -> tuple[Source, ...]:
    return (
        Source(REPLACE_MONTHS.source, REPLACE_MONTHS.standing),
        Source(f"{LR_903}: no firm relation of water to age", Standing.PUBLISHED),
        Source(FMVSS_116, Standing.PUBLISHED),
        Source("curve fitted to the grade's two limits; it meets the points of LR 903", Standing.COMPUTED),
    )
