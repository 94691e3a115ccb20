"""Run the engine up to drying temperature, under load: when, and when not at all.

The pace is set by damp: hours of wetness at the place since the last full-warm run, between the
published customs of 3 weeks and of once in 24 weeks. A dry heated place comes later than a damp
cold one. A short idle does not count and does harm, so the duty is held, with a reason, wherever
only that or worse would come of it.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scheduler.duties.conditions import REGIMES, UNKNOWN, Fleet
from scheduler.duties.cooling.coolant import may_be_frozen
from scheduler.duties.crossings import reach_each
from scheduler.duties.fuel import fuel_change
from scheduler.duties.fuel.limits import may_wax
from scheduler.duties.fuel.outlook import fuel_outlook
from scheduler.duties.policy import Policy
from scheduler.duties.windows import NOT_HELD, Day, DutyWindow, ordered
from scheduler.physics import climate
from scheduler.physics.air.damp import wet_hours
from scheduler.physics.climate import SHELTERS, Place
from scheduler.vocabulary import tags

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]

LIMITS = (
    "damp air since the last warm run",
    "custom for the dampest places",
    "custom for dry places",
)
DAMP, SOONEST, LONGEST = range(len(LIMITS))
HOLDS = (
    *(tag.holds_run for tag in tags.TAGS),
    "a car that is laid up is not run",
    "stood, history unknown: recommission it in stages first",
    "not run for too long: recommission it in stages first",
    "water has dropped out of the fuel: drain it first",
    "the fuel is stale: change it first",
    "a cold night may have waxed the diesel: start it on winter fuel, with an additive put in before it "
    "waxes, or once tank and filter are warm",
    "a cold night may have frozen the cooling system: thaw it in the warm, look for leaks and strengthen the "
    "coolant before the engine turns",
)
PRESERVED, DORMANT, RESTED, SEPARATED, STALE, WAXED, FROZEN = range(len(tags.TAGS), len(HOLDS))
_EXERCISED_CODE, _PRESERVED_CODE, _DORMANT_CODE = (
    REGIMES.index(name) for name in ("exercised", "preserved", "dormant")
)
_OPEN_AIR = SHELTERS.index("open")
# Damp of a pessimist's, the likely and an optimist's engine: shares of the wet hours allowed.
PACE = (0.5, 1.0, 2.0)


@dataclass(frozen=True)
class WetDays:
    """Running totals of wet hours of the fleet's places, (k, d+1) from ``first_day``; (n,) of cars."""

    first_day: int
    total: Floats
    place: Ints


def window(fleet: Fleet, today: Day, policy: Policy) -> DutyWindow:
    """When each car is next to be run up fully warm, and why not where not."""
    last, assumed = last_warm(fleet, today, policy)
    wet = wet_days(fleet, float(last.min(initial=float(np.min(today)))), last, today, policy)
    early, due, late, limit = _days(wet, last, policy)
    return DutyWindow(
        early=early,
        due=due,
        late=late,
        limits=LIMITS,
        limit=limit,
        holds=HOLDS,
        hold=holds(fleet, today, policy),
        assumed=assumed,
    )


def last_warm(fleet: Fleet, today: Day, policy: Policy) -> tuple[Floats, Bools]:
    """The last full-warm run (n,), else the last road use, else the start of storage, else long enough
    ago to be due today; and whether it or the regime is assumed."""
    day = fleet.last_full_warm
    for fallback in (fleet.last_road_use, fleet.stored_since):
        day = np.where(np.isnan(day), fallback, day)
    day = np.where(np.isnan(day), today - policy.run_up_damp_days, np.minimum(day, today))
    return day, np.isnan(fleet.last_full_warm) | (fleet.regime == UNKNOWN)


def wet_days(fleet: Fleet, since: float, last: Floats, today: Day, policy: Policy) -> WetDays:
    """Wet hours of the places where the cars stand, from the oldest run to the latest date it sets.

    ``since``: the oldest day looked at; ``last`` (n,): each car's last fully warm run, ordinals.
    """
    used, place = np.unique(fleet.place, return_inverse=True)
    places = [fleet.places[i] for i in used] or fleet.places[:1]
    first = max(max(p.first_day for p in places), int(since))
    reach = int(last.max(initial=float(np.max(today))) + policy.run_up_latest_days) + 2
    end = min(min(p.end_day for p in places), reach)
    first = min(first, end - 1)
    daily = np.stack([climate.daily(p, _wet_hours, _wet_hours, first, end) for p in places])
    return WetDays(first, climate.running(daily), place.astype(np.int64))


def _wet_hours(place: Place) -> Floats:
    """Wet hours of each day of a place, (d,)."""
    return np.asarray(wet_hours(*climate.courses(place)).sum(axis=1), float)


def _days(wet: WetDays, last: Floats, policy: Policy) -> tuple[Floats, Floats, Floats, Ints]:
    """Early, due, late and what sets due: the damp, within the customs."""
    start = np.maximum(last, wet.first_day)
    allowed = np.multiply.outer(np.array(PACE) * policy.run_up_wet_hours, np.ones(len(last)))
    early, due, late = reach_each(wet.total, wet.place, float(wet.first_day), start, np.zeros(1), allowed)
    dry = last + policy.run_up_dry_days
    soonest = last + policy.run_up_damp_days
    held = np.clip(np.where(np.isnan(due), np.inf, due), soonest, np.maximum(dry, soonest))
    limit = np.where(held == due, DAMP, np.where(held == soonest, SOONEST, LONGEST))
    ahead = last + policy.run_up_dry_days * (1.0 - policy.fluid_tolerance)
    behind = last + policy.run_up_damp_days * (1.0 + policy.fluid_tolerance)
    early = np.clip(np.where(np.isnan(early), np.inf, early), last + policy.run_up_earliest_days, ahead)
    late = np.clip(np.where(np.isnan(late), np.inf, late), behind, last + policy.run_up_latest_days)
    return *ordered(early, held, late), limit


def holds(fleet: Fleet, today: Day, policy: Policy) -> Ints:
    """The first reason (n,), gravest first, why each car is not to be run up; -1 where it may."""
    outlook = fuel_outlook(fleet, today, policy)
    reasons = [
        *fleet.tags.T,
        fleet.regime == _PRESERVED_CODE,
        _dormant(fleet),
        _rested(fleet, today, policy),
        fuel_change.separated(outlook, today),
        fuel_change.stale(outlook, today),
        may_wax(outlook.now, today),
        may_be_frozen(fleet, today, policy),
    ]
    return np.select(reasons, list(range(len(HOLDS))), NOT_HELD).astype(np.int64)


def _dormant(fleet: Fleet) -> Bools:
    """Dormant by record, or of unknown regime without a single warm run on record."""
    silent = (fleet.regime == UNKNOWN) & np.isnan(fleet.last_full_warm)
    return np.asarray((fleet.regime == _DORMANT_CODE) | silent)


def _rested(fleet: Fleet, today: Day, policy: Policy) -> Bools:
    """Known to have rested for longer than an engine may be started on without preparation."""
    ran = np.fmax(np.fmax(fleet.last_full_warm, fleet.last_engine_run), fleet.last_road_use)
    return np.asarray(today - ran > policy.run_up_rest_days)


def to_drive_out(fleet: Fleet) -> Bools:
    """Where the exhaust cannot be led outside (n,): the car is driven out at once and warmed up there."""
    shelters = np.array([SHELTERS.index(place.shelter) for place in fleet.places])
    return np.asarray(~fleet.extraction & (shelters[fleet.place] != _OPEN_AIR))
