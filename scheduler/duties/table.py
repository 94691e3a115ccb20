"""All the duties: each row of the vocabulary with the module that computes it for a fleet at once."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from importlib import import_module

import numpy as np

from scheduler.duties.conditions import Fleet
from scheduler.duties.not_fitted import reason_where_fitted, window_where_fitted
from scheduler.duties.own_rules import Reason, Window, reason_by_rules, window_by_rules
from scheduler.duties.policy import Policy
from scheduler.duties.windows import Band, DutyWindow, Floats, joined
from scheduler.vocabulary import duties as vocabulary

BandOf = Callable[[Fleet, Floats, Policy], Band]

BLOCK = 50_000  # cars worked out at a time
MODELS_VERSION = 6  # raise it when any model changes: stored windows are then recomputed


@dataclass(frozen=True)
class Duty:
    """One duty: its code, its window for a fleet, its reason for one car, its curve where it has one."""

    name: str
    window: Window
    explain: Reason
    band: BandOf | None


def _computed(row: vocabulary.Duty) -> Duty:
    """The functions of the duty's own module; AttributeError names what it lacks."""
    module = import_module(f"{__package__}.{row.system}.{row.code}")
    window = window_by_rules(row, module.window)
    explain = reason_by_rules(row, module.window, module.explain)
    if row.fluid:  # some cars are built without it
        window, explain = window_where_fitted(row.fluid, window), reason_where_fitted(row.fluid, explain)
    return Duty(row.code, window, explain, module.band if row.curve else None)


DUTIES = tuple(_computed(row) for row in vocabulary.DUTIES)
BY_NAME = {duty.name: duty for duty in DUTIES}


def forecast(fleet: Fleet, today: float, policy: Policy) -> dict[str, DutyWindow]:
    """Every duty's windows for every car of the fleet, by duty name, none of them before the lay-up.

    A large fleet is worked out in blocks, so that what lies between input and answer stays small.
    """
    if len(fleet) <= BLOCK:
        return {duty.name: _since_arrival(fleet, duty.window(fleet, today, policy)) for duty in DUTIES}
    starts = range(0, len(fleet), BLOCK)
    blocks = [
        forecast(fleet.take(np.arange(start, min(start + BLOCK, len(fleet)))), today, policy)
        for start in starts
    ]
    return {duty.name: joined([block.pop(duty.name) for block in blocks]) for duty in DUTIES}


def _since_arrival(fleet: Fleet, window: DutyWindow) -> DutyWindow:
    """The window with no day before the lay-up: nothing could be asked of a car that was not there."""
    early, due, late = (
        np.where(np.isnan(day), day, np.fmax(day, fleet.stored_since))
        for day in (window.early, window.due, window.late)
    )
    return replace(window, early=early, due=due, late=late)
