"""What topping up would do, before anyone pours: age, blend, water and vapour pressure."""

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from scheduler.duties.conditions import Fleet, FuelEvents
from scheduler.duties.fuel.events import ADDED, fuel_now
from scheduler.duties.fuel.outlook import fuel_outlook
from scheduler.duties.fuel.state import LIKELY, FuelState, advance
from scheduler.duties.policy import Policy

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class TopUp:
    """The fuel of n cars today, as it would be after the top-up, and whether that is sound.

    ``separates``: the mixture would drop its water (the dilution trap). ``mends``: fresh fuel on
    fuel within its life, that stays clear; stale or separated fuel is not mended by topping up.
    """

    before: FuelState
    after: FuelState
    separates: Bools
    mends: Bools


def top_up(fleet: Fleet, litres: Floats, bio_share: Floats, today: float, policy: Policy) -> TopUp:
    """What ``litres`` (n,) of fresh fuel with ``bio_share`` (n,) would make of each tank today."""
    now, n = fuel_outlook(fleet, today, policy).now, len(fleet)
    before = advance(now.state, now.tanks, now.air, np.maximum(now.state.since, today))
    poured = FuelEvents(np.arange(n), np.full(n, today), np.full(n, ADDED), litres, bio_share)
    known = fleet.fuel_events
    joined = {name: np.concatenate([getattr(known, name), column]) for name, column in vars(poured).items()}
    after = fuel_now(replace(fleet, fuel_events=FuelEvents(**joined)), today, policy).state
    return TopUp(
        before,
        after,
        separates=after.separated & ~before.separated,
        mends=(before.used[LIKELY] < 1.0) & ~after.separated,
    )
