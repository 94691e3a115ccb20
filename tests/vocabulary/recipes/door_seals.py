"""Duty ``door_seals``: rubber that nobody dresses sticks and tears; a hundred days after the last visit."""

import numpy as np

from scheduler.duties.conditions import Fleet
from scheduler.duties.policy import Policy
from scheduler.duties.windows import NOT_HELD, DutyWindow, Explanation, Input, Source

INTERVAL_DAYS, SPREAD_DAYS = 100.0, 20.0


def window(fleet: Fleet, today: float, _policy: Policy) -> DutyWindow:
    """When each car's seals are to be dressed."""
    silent = np.isnan(fleet.last_attended)
    due = np.where(silent, today, fleet.last_attended + INTERVAL_DAYS)
    none = np.full(len(fleet), NOT_HELD)
    days = (due - SPREAD_DAYS, due, due + SPREAD_DAYS)
    return DutyWindow(*days, ("age of the dressing",), np.zeros(len(fleet), np.int64), (), none, silent)


def explain(fleet: Fleet, today: float, policy: Policy) -> Explanation:
    """Why one car's seals are to be dressed then."""
    due = window(fleet, today, policy).due[0]
    given = (Input("interval", INTERVAL_DAYS, "days", "policy"),)
    return Explanation(f"Due in {due - today:.0f} days.", given, (), (Source("our choice", "policy"),))
