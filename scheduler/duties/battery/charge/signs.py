"""What the record and the forecast say for each verdict on a battery."""

import numpy as np

from scheduler.duties.battery.charge.cells import condemned
from scheduler.duties.battery.charge.decline import lost
from scheduler.duties.battery.charge.evidence import CHARGED_SOC, unsound_since
from scheduler.duties.battery.charge.load import failed_under_load
from scheduler.duties.battery.charge.now import LIKELY, BatteryNow
from scheduler.duties.battery.charge.state import spent
from scheduler.duties.battery.charge.verdict import DEAD_AFTER_DAYS, Signs
from scheduler.duties.battery.charge.window import window
from scheduler.duties.conditions import Bools, Fleet
from scheduler.duties.policy import Policy
from scheduler.physics.battery.ageing import WORN_OUT

FAST_DAYS = 21.0  # policy: emptied sooner than anybody comes round, by what draws on it alone


def signs_of(fleet: Fleet, now: BatteryNow, today: float, policy: Policy) -> Signs:
    """The signs of every battery of a fleet."""
    state, pack = now.state, now.state.pack
    nothing = np.isnan(fleet.capacity_ah) & np.isnan(fleet.battery_installed) & np.isnan(fleet.battery_made)
    due = window(fleet, today, policy).due
    soc, floating = now.soc[LIKELY], now.dates.floating
    return Signs(
        silent=(state.kind < 0) & ~floating & pack.assumed["kind"] & nothing,
        unsound=~np.isnan(unsound_since(fleet, today)),
        condemned=failed_under_load(fleet, state, today) | condemned(fleet, today),
        maintainer_failed=state.maintainer_failed,
        dead=now.flat_days > DEAD_AFTER_DAYS,
        drawn_on=(state.surprise < 0) | state.drawn_on,
        low=pack.lead & (soc < policy.sulphation_soc) & ~floating,
        due=(due <= today) & ~floating,
        drained_fast=_drained_fast(fleet, now, policy) & ~floating,
        leaks_fast=_leaks_fast(now, today, policy)
        & ~floating
        & (~pack.assumed["kind"] | (pack.unhardened[LIKELY] < WORN_OUT.value)),
        spent=spent(state),
    )


def _drained_fast(fleet: Fleet, now: BatteryNow, policy: Policy) -> Bools:
    """Where what draws on it takes it from full to the recharge level within weeks; an isolator stops it."""
    taken = now.state.rates.drain[LIKELY] * FAST_DAYS
    return np.asarray(~fleet.isolated & ~np.isnan(fleet.drain_a) & (taken > 1.0 - policy.recharge_soc))


def _leaks_fast(now: BatteryNow, today: float, policy: Policy) -> Bools:
    """Where no charge lasts for weeks, by what it loses within itself, as old antimony does in the warm."""
    air, row = now.state.air, np.arange(now.soc.shape[1])
    begin = np.full(row.size, min(today, air.end_day - FAST_DAYS))
    taken = lost(now.state.rates.case(LIKELY), air, row, begin, begin + FAST_DAYS)
    return np.asarray(taken > CHARGED_SOC - policy.recharge_soc)
