"""What all fluid duties share: since when a fill is in the car, and the window of its age.

Where the record does not say when a fluid was changed, the fill is dated from the lay-up: a full
life old at worst, half a life old as likely as not, fresh at best. That widens the window; it
never hides the duty; from when on it does harm stays unknown. Where not even the lay-up is known, the duty is
due today.
"""

from dataclasses import dataclass

import numpy as np

from scheduler.duties.conditions import FLUIDS, TAGS, Bools, Fleet, Floats, Ints
from scheduler.duties.policy import Policy
from scheduler.duties.windows import NOT_HELD, Day, Input, each_row
from scheduler.duties.words import known_day, number, spoken
from scheduler.physics.fluids.fluids import FLUID_KINDS, FluidKind, known_kinds
from scheduler.vocabulary.units import DAYS_PER_MONTH

Dates = tuple[Floats, Floats, Floats]  # early, due, late (n,)

HALF = 0.5  # of a life: how old an undated fill is taken to be
ANCHORS = ("stored since", "last road use", "battery fitted")
DRAINED_HOLD = "tagged as drained: see what is out of the car and fill it first"


@dataclass(frozen=True)
class Fill:
    """When a fluid came into the car, shape (n,): earliest, likely and latest day; assumed or not."""

    earliest: Floats
    likely: Floats
    latest: Floats
    assumed: Bools


def kinds(fleet: Fleet, fluid: str) -> Ints:
    """Each car's position in ``FLUID_KINDS`` for one fluid, shape (n,)."""
    return known_kinds(fluid, fleet.fluid_type[:, FLUIDS.index(fluid)])


def changed(fleet: Fleet, fluid: str) -> Floats:
    """The day each car's fluid was changed, shape (n,); NaN where the record is silent."""
    return np.asarray(fleet.fluid_changed[:, FLUIDS.index(fluid)])


def anchors(fleet: Fleet) -> tuple[Floats, Ints]:
    """The day an undated fill is reckoned from and which of ``ANCHORS`` it is (-1: none), shape (n,)."""
    days = np.array([fleet.stored_since, fleet.last_road_use, fleet.battery_installed])
    known = ~np.isnan(days)
    first = np.where(known.any(axis=0), known.argmax(axis=0), -1)
    return days[first, np.arange(len(fleet))], first


def fill(fleet: Fleet, fluid: str, today: Day, life_days: Floats) -> Fill:
    """When the fluid came in (n,), by the record, else by the lay-up (see the module); ``life_days`` (n,)."""
    dated, (anchor, _) = changed(fleet, fluid), anchors(fleet)
    no_anchor, silent = np.isnan(anchor), np.isnan(dated)
    worst = np.where(no_anchor, today, anchor) - life_days
    likely = np.where(no_anchor, worst, anchor - HALF * life_days)
    best = np.where(no_anchor, worst, anchor)
    worst, likely, best = (np.where(silent, day, dated) for day in (worst, likely, best))
    return Fill(worst, likely, best, silent)


def age_window(filled: Fill, life_days: Floats, tolerance: float) -> Dates:
    """Early, due and late (n,) by age alone: the life, less and more the tolerance of a calendar date.

    ``life_days`` (n,); ``tolerance`` 0 to 1, a share of the life. Of a fill of unknown date nobody knows from
    when on it does harm: late is NaN.
    """
    early = filled.earliest + life_days * (1 - tolerance)
    late = np.where(filled.assumed, np.nan, filled.latest + life_days * (1 + tolerance))
    return early, filled.likely + life_days, late


@dataclass(frozen=True)
class Check:
    """The newest test or look at a fluid since its change, (n,): its day, NaN for none; good, or bad, or
    neither."""

    day: Floats
    good: Bools
    bad: Bools


def look(fleet: Fleet, fluid: str, today: Day) -> Check:
    """What was seen when somebody last looked at one fluid of each car since it was changed, up to today."""
    table, n = fleet.looks, len(fleet)
    kept = (table.fluid == FLUIDS.index(fluid)) & (table.day <= each_row(today, n)[table.row])
    kept &= ~(table.day < changed(fleet, fluid)[table.row])
    picked = np.flatnonzero(kept)
    picked = picked[np.argsort(table.day[picked], kind="stable")]
    day, good = np.full(n, np.nan), np.zeros(n, bool)
    day[table.row[picked]], good[table.row[picked]] = table.day[picked], table.good[picked]
    return Check(day, good, ~np.isnan(day) & ~good)


def checked(dates: Dates, check: Check, filled: Fill, longest_days: Floats, policy: Policy) -> Dates:
    """Early, due and late (n,) as a check leaves them: one that passed moves them on, not beyond the longest
    interval (n,) since a fill of known date; one that failed makes the change due on its day.
    """
    serves = policy.fluid_check_months * DAYS_PER_MONTH
    end = np.where(filled.assumed, np.inf, filled.likely + longest_days)  # of a guessed age nothing is held
    good_until = np.where(check.good, np.fmin(check.day + serves, end), np.nan)
    spread = serves * policy.fluid_tolerance
    early, due = np.fmax(dates[0], good_until - spread), np.fmax(dates[1], good_until)
    late = np.where(np.isnan(dates[2]), dates[2], np.fmax(dates[2], good_until + spread))
    failed = np.where(filled.assumed, check.day, np.fmin(due, check.day))  # what was seen beats a guess
    sooner = np.where(filled.assumed, failed, np.fmin(early, failed))
    return np.where(check.bad, sooner, early), np.where(check.bad, failed, due), late


def check_words(check: Check, by: str, policy: Policy) -> str:
    """What the last check of one car's fluid did to its date: a sentence, or nothing."""
    if check.good[0]:
        months = number(policy.fluid_check_months)
        return f" {by} on {spoken(check.day[0])} was good: it may serve {months} months on."
    return f" {by} on {spoken(check.day[0])} was bad: change it." if check.bad[0] else ""


def drained(fleet: Fleet) -> Bools:
    """Cars with an open tag that says a fluid is out or a drain is open, shape (n,)."""
    return np.asarray(fleet.tags[:, [TAGS.index("drained"), TAGS.index("drain_open")]].any(axis=1))


def drained_hold(fleet: Fleet) -> Ints:
    """Position 0 of the holds where drained, else not held, shape (n,)."""
    return np.where(drained(fleet), 0, NOT_HELD)


def kind_of(fleet: Fleet, fluid: str) -> FluidKind:
    """The kind of one car's fluid."""
    return FLUID_KINDS[int(kinds(fleet, fluid)[0])]


def kind_input(fleet: Fleet, fluid: str) -> Input:
    """One car's kind of fluid as an input of an explanation."""
    recorded = fleet.fluid_type[0, FLUIDS.index(fluid)] >= 0
    return Input("kind", kind_of(fleet, fluid).label, "", "record" if recorded else "assumed")


def fill_input(filled: Fill) -> Input:
    """One car's date of fill as an input of an explanation."""
    when = known_day(filled.likely[0])
    basis = "assumed" if filled.assumed[0] else "record"
    return Input("changed on", when if when else "not known", "", basis, when)


def fill_assumptions(fleet: Fleet, fluid: str, filled: Fill) -> tuple[str, ...]:
    """What was assumed of one car's fluid, in plain words."""
    texts = []
    if fleet.fluid_type[0, FLUIDS.index(fluid)] < 0:
        texts.append("The kind is not recorded: the careful figures are used.")
    if filled.assumed[0]:
        texts.append(_dating(fleet, filled))
    return tuple(texts)


def _dating(fleet: Fleet, filled: Fill) -> str:
    anchor, which = anchors(fleet)
    if which[0] < 0:
        return "Neither the change nor the lay-up is recorded: taken as due today."
    return (
        f"The change is not recorded: dated from “{ANCHORS[which[0]]}”, {spoken(anchor[0])}; taken as half "
        f"a life old by then, so from {spoken(filled.likely[0])}, with a wide window."
    )
