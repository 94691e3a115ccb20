"""Electricity: what charges put back over the year, and what maintainers draw."""

import numpy as np

from scheduler.duties.battery.charge.evidence import CHARGED_SOC
from scheduler.duties.battery.charge.now import battery_now
from scheduler.duties.battery.charge.state import State, known_state
from scheduler.duties.conditions import Bools, Fleet, Floats
from scheduler.duties.policy import Policy
from scheduler.physics.battery.batteries import BATTERIES
from scheduler.physics.battery.charging import charge_energy_wh
from scheduler.physics.materials import at
from scheduler.vocabulary.constants import Constant, Standing

MAINS_EFFICIENCY = Constant(
    0.80,
    "1",
    "share of the mains energy that a small charger passes on; our allowance",
    Standing.POLICY,
    0.60,
    0.90,
)
HOURS_PER_DAY = 24.0
LIKELY = 1


def put_back_wh(fleet: Fleet, day: Floats, policy: Policy) -> Floats:
    """Watt-hours from the mains (n,) that fill each battery on its ``day`` (n,)."""
    now = battery_now(fleet, day, policy)
    return _mains_wh(now.state, np.maximum(CHARGED_SOC - now.soc[LIKELY], 0.0))


def maintained_wh(fleet: Fleet, today: float, days: float, policy: Policy, idle_w: float) -> Floats:
    """Watt-hours from the mains (n,) that maintainers draw in ``days``: what is lost, and the idling."""
    state = known_state(fleet, today, policy)
    rates = state.rates.case(LIKELY)
    share = (rates.self_30d * state.air.mean_factor + rates.drain) * days
    drawn = _mains_wh(state, share) + idle_w * HOURS_PER_DAY * days
    return np.where(floating(state), drawn, 0.0)


def floating(state: State) -> Bools:
    """Which batteries are on a maintainer (n,)."""
    return ~np.isnan(state.floating_since)


def _mains_wh(state: State, share: Floats) -> Floats:
    pack = state.pack
    efficiency = at(BATTERIES, pack.chemistry, "energy_efficiency")[LIKELY]
    deficit_ah = share * pack.capacity_ah[LIKELY]
    return charge_energy_wh(deficit_ah, pack.nominal_v, efficiency) / MAINS_EFFICIENCY.value
