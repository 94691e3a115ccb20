"""The forecast of some cars as the simulation reads it: arrays with one row a duty."""

from dataclasses import dataclass

import numpy as np

from scheduler.conditions import Bools, Fleet, Floats
from scheduler.plan.charge import LIMITS as CHARGE_LIMITS
from scheduler.plan.duties import DUTIES, forecast
from scheduler.plan.policy import Policy
from scheduler.plan.windows import NOT_HELD, DutyWindow
from scheduler.whatif.changes import NEVER, Practice

DUTY_NAMES = tuple(duty.name for duty in DUTIES)
CHARGE, STABILISER, FUEL_CHANGE = (DUTY_NAMES.index(d) for d in ("charge", "stabiliser", "fuel_change"))
CHECK_LIMIT = CHARGE_LIMITS.index("maintainer check")


@dataclass(frozen=True)
class Due:
    """Of each duty and car (duties, k): whole due days (inf: never), hard limits (NaN: none), holds.

    ``checks`` (k,): the charge duty is only a look at a maintainer.
    """

    day: Floats
    late: Floats
    held: Bools
    checks: Bools


def due_of(fleet: Fleet, today: float, policy: Policy, practice: Practice) -> Due:
    """What every car of the fleet needs and when; a dose that the practice leaves out is held."""
    windows = forecast(fleet, today, policy)
    stacked = [windows[name] for name in DUTY_NAMES]
    held = np.array([window.hold != NOT_HELD for window in stacked])
    if practice.stabilise == NEVER:
        held[STABILISER] = True
    return Due(
        np.array([_whole(window) for window in stacked]), np.array([window.late for window in stacked]),
        held, windows["charge"].limit == CHECK_LIMIT,
    )  # fmt: skip


def _whole(window: DutyWindow) -> Floats:
    return np.where(np.isnan(window.due), np.inf, np.floor(window.due))


def past_harm(late: Floats, since: float, until: Floats | float) -> Floats:
    """Days after ``late`` that lie between ``since`` and ``until``; a limit that never comes gives none."""
    begins = np.where(np.isnan(late), np.inf, np.maximum(late, since))
    return np.asarray(np.maximum(until - begins, 0.0))
