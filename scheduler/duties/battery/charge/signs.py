"""What the record and the forecast say for each verdict on a battery."""

from dataclasses import dataclass

import numpy as np

from scheduler.duties.battery.charge.evidence import unsound
from scheduler.duties.battery.charge.now import LIKELY, BatteryNow
from scheduler.duties.battery.charge.verdict import Signs, spread
from scheduler.duties.battery.charge.window import window
from scheduler.duties.conditions import READING_KINDS, Bools, Fleet, Floats
from scheduler.duties.policy import Policy
from scheduler.duties.windows import each_row
from scheduler.physics.battery.batteries import BATTERIES
from scheduler.physics.materials import at
from scheduler.vocabulary.constants import Constant, Standing
from scheduler.vocabulary.units import DAYS_PER_YEAR

_HANDBOOK = "trade training handbook, Battery Service p. 9; two car makers' helplines"
SPREAD_CONDEMNS = Constant(0.050, "1", f"cells apart after a charge: {_HANDBOOK}", Standing.PUBLISHED)
CHARGED_WITHIN_DAYS = 7.0  # policy: so long after a full charge cells still stand as it left them
LIVE_CELL_SG = Constant(
    1.200, "1", "the others stand well above a dead one (trade)", Standing.COMMON_PRACTICE
)
DEAD_CELL_SG = Constant(
    1.120, "1", "a cell as empty as its acid shows at all (trade)", Standing.COMMON_PRACTICE
)
DEAD_AFTER_DAYS = DAYS_PER_YEAR  # policy: flat for a year, no source lets one hope
NEVER = -1e9  # a day before all others
FAST_DAYS = 21.0  # policy: emptied sooner than anybody comes round, by what draws on it alone


def signs_of(fleet: Fleet, now: BatteryNow, today: float, policy: Policy, weak: Bools) -> Signs:
    """The signs of every battery of a fleet; ``weak`` (n,): its volts under load were too low."""
    state, pack = now.state, now.state.pack
    nothing = np.isnan(fleet.capacity_ah) & np.isnan(fleet.battery_installed) & np.isnan(fleet.battery_made)
    due = window(fleet, today, policy).due
    soc, floating = now.soc[LIKELY], now.dates.floating
    return Signs(
        silent=(state.kind < 0) & ~floating & pack.assumed["kind"] & nothing,
        unsound=unsound(fleet, today),
        condemned=weak | _cells_apart(fleet, today),
        maintainer_failed=state.maintainer_failed,
        dead=now.flat_days > DEAD_AFTER_DAYS,
        drawn_on=state.surprise < 0,
        low=pack.lead & (soc < policy.sulphation_soc) & ~floating,
        due=(due <= today) & ~floating,
        drained_fast=_drained_fast(fleet, now, policy) & ~floating,
    )


def _drained_fast(fleet: Fleet, now: BatteryNow, policy: Policy) -> Bools:
    """Where what draws on it takes it from full to the recharge level within weeks; an isolator stops it."""
    taken = now.state.rates.drain[LIKELY] * FAST_DAYS
    return np.asarray(~fleet.isolated & ~np.isnan(fleet.drain_a) & (taken > 1.0 - policy.recharge_soc))


@dataclass(frozen=True)
class _Cells:
    """Single cells read by hydrometer up to today, (m,)."""

    row: np.ndarray
    day: Floats
    gravity: Floats


def _cells(fleet: Fleet, today: float) -> _Cells:
    table = fleet.readings
    kept = (table.kind == READING_KINDS.index("specific_gravity")) & (table.position >= 0)
    kept &= table.day <= each_row(today, len(fleet))[table.row]
    kept &= ~(table.day < fleet.battery_installed[table.row])
    kept &= at(BATTERIES, fleet.chemistry[table.row], "vented").astype(bool)
    return _Cells(table.row[kept], table.day[kept], table.value[kept])


def _cells_apart(fleet: Fleet, today: float) -> Bools:
    """Where the cells read last condemn the battery: too far apart once charged, or one dead among live."""
    n, cells = len(fleet), _cells(fleet, today)
    newest, charged, table = np.full(n, NEVER), np.full(n, NEVER), fleet.charges
    np.maximum.at(newest, cells.row, cells.day)
    done = table.completed & (table.until <= newest[table.row])
    np.maximum.at(charged, table.row[done], table.until[done])
    apart = spread(cells.gravity, cells.row, cells.day, n) > SPREAD_CONDEMNS.value
    return np.asarray(
        (apart & (charged > NEVER) & (newest - charged <= CHARGED_WITHIN_DAYS)) | _one_dead(cells, newest, n)
    )


def _one_dead(cells: _Cells, newest: Floats, n: int) -> Bools:
    """Where of the cells read last one is dead and every other is well up."""
    now = cells.day == newest[cells.row]
    row, gravity = cells.row[now], cells.gravity[now]
    dead = np.bincount(row[gravity <= DEAD_CELL_SG.value], minlength=n)
    live = np.bincount(row[gravity >= LIVE_CELL_SG.value], minlength=n)
    read = np.bincount(row, minlength=n)
    return np.asarray((dead == 1) & (live == read - 1) & (read > 1))
