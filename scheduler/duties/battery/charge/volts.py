"""The rested volts that a meter would show, below empty too.

Down to empty they follow the table of the kind. Beyond, what draws on the battery uses up the acid that is
left, and volts follow the acid towards water. When the weakest cell has given all it holds, the others drive
it backwards, and volts fall by a cell or more: from there only a range can be told.
"""

import numpy as np

from scheduler.duties.battery.charge.evidence import air_at, unsound_since, volts_read
from scheduler.duties.battery.charge.now import BatteryNow
from scheduler.duties.conditions import Fleet, Floats
from scheduler.physics.battery.charge_state import NOMINAL_V
from scheduler.physics.battery.charge_state import rested_volts as from_charge
from scheduler.vocabulary.constants import Constant, Standing

# Acid weaker than "empty", 12 V, by share of what it can hold: computed from Bode 1977 coefficients.
BEYOND = (0.0, 0.14, 0.28, 0.41, 0.55, 0.69, 0.76, 0.79)
BEYOND_V = (0.0, -0.11, -0.23, -0.36, -0.51, -0.75, -0.98, -1.18)
COLLAPSE = Constant(
    0.20, "of what it holds", "drawn beyond empty until volts collapse", Standing.FROM_MEMORY, 0.10, 0.30
)
# 12 V after the collapse: all cells dead or some reversed, most of them dead, one dead.
COLLAPSED_V = (0.0, 4.0, 10.5)


def rested_volts(fleet: Fleet, now: BatteryNow, today: float) -> Floats:
    """Rested volts (3, n), low, likely, high, at the mean temperature of each car's place on the day."""
    read, odd, pack = volts_read(fleet, today), unsound_since(fleet, today), now.state.pack
    rows = np.arange(len(fleet))
    at_c = air_at(fleet, rows, np.full(rows.size, float(today)))
    volts = np.empty((3, len(fleet)))
    for code in np.unique(pack.chemistry):  # a table a chemistry, never a car
        of_it = pack.chemistry == code
        volts[:, of_it] = from_charge(now.soc[:, of_it], at_c[of_it], int(code), NOMINAL_V)
    fallen = (now.below > np.array(COLLAPSE.range[::-1])[:, None]) & (now.drain_a > 0.0)
    beyond = np.where(fallen, np.array(COLLAPSED_V)[:, None], volts + np.interp(now.below, BEYOND, BEYOND_V))
    volts = np.where(pack.lead, beyond, volts) * pack.nominal_v / NOMINAL_V
    return np.where(np.isnan(odd), np.sort(volts, axis=0), read.value)  # of no sound one nothing is foretold
