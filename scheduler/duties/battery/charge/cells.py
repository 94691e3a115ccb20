"""Single cells read by hydrometer: when they condemn a battery.

Cells that differ too far once it is charged, and one that is dead among live ones, no charge mends.
Read at half charge a spread proves little: it is charged first and read again.
"""

from dataclasses import dataclass

import numpy as np

from scheduler.duties.conditions import READING_KINDS, Bools, Fleet, Floats, Ints
from scheduler.duties.windows import Day, each_row
from scheduler.physics.battery.batteries import BATTERIES
from scheduler.physics.materials import at
from scheduler.vocabulary.constants import Constant, Standing

_HANDBOOK = "trade training handbook, Battery Service p. 9; two car makers' helplines"
SPREAD_CONDEMNS = Constant(0.050, "1", f"cells apart after a charge: {_HANDBOOK}", Standing.PUBLISHED)
CHARGED_WITHIN_DAYS = 7.0  # policy: so long after a full charge cells still stand as it left them
LIVE_CELL_SG = Constant(
    1.200, "1", "the others stand well above a dead one (trade)", Standing.COMMON_PRACTICE
)
DEAD_CELL_SG = Constant(
    1.120, "1", "a cell as empty as its acid shows at all (trade)", Standing.COMMON_PRACTICE
)
NEVER = -1e9  # a day before all others


@dataclass(frozen=True)
class _Cells:
    """Single cells read by hydrometer up to today, (m,)."""

    row: np.ndarray
    day: Floats
    gravity: Floats


def _cells(fleet: Fleet, today: Day) -> _Cells:
    table = fleet.readings
    kept = (table.kind == READING_KINDS.index("specific_gravity")) & (table.position >= 0)
    kept &= table.day <= each_row(today, len(fleet))[table.row]
    kept &= ~(table.day < fleet.battery_installed[table.row])
    kept &= at(BATTERIES, fleet.chemistry[table.row], "vented").astype(bool)
    return _Cells(table.row[kept], table.day[kept], table.value[kept])


def condemned(fleet: Fleet, today: Day) -> Bools:
    """Where (n,) the cells read last condemn the battery: too far apart charged, or one dead among live."""
    n, cells = len(fleet), _cells(fleet, today)
    newest, charged, table = np.full(n, NEVER), np.full(n, NEVER), fleet.charges
    np.maximum.at(newest, cells.row, cells.day)
    done = table.completed & (table.until <= newest[table.row])
    np.maximum.at(charged, table.row[done], table.until[done])
    apart = _spread(cells.gravity, cells.row, cells.day, n) > SPREAD_CONDEMNS.value
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


def _spread(gravity: Floats, row: Ints, day: Floats, n: int) -> Floats:
    """Highest less lowest gravity of the cells read on the newest day of it, (n,); NaN: none.

    ``gravity``, ``row``, ``day`` (m,) are single cells.
    """
    newest, most, least = np.full(n, -np.inf), np.full(n, np.nan), np.full(n, np.nan)
    np.maximum.at(newest, row, day)
    now = day == newest[row]
    np.fmax.at(most, row[now], gravity[now])
    np.fmin.at(least, row[now], gravity[now])
    return np.asarray(most - least)
