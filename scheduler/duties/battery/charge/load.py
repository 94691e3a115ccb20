"""A load test: half the cold-cranking current for 15 seconds must leave so many volts.

It tells nothing of a battery that is not at least three-quarters charged.
"""

import numpy as np

from scheduler.duties.battery.charge.now import LIKELY, BatteryNow
from scheduler.duties.conditions import Bools, Fleet, Floats
from scheduler.physics.battery.charge_state import NOMINAL_V

# 12 V, lead-acid: least volts by the battery's temperature (three car makers' workshop books, published).
TEMPERATURE_C = (-18.0, -12.0, -7.0, -1.0, 4.0, 10.0, 16.0, 21.0)
LEAST_V = (8.5, 8.7, 8.9, 9.1, 9.3, 9.4, 9.5, 9.6)
LEAST_CHARGE = 0.75


def weak_under_load(fleet: Fleet, now: BatteryNow, volts: Floats, at_c: Floats, today: float) -> Bools:
    """Where the volts (n,) under load are below the table at that temperature (NaN: the place's today)."""
    air = [fleet.places[place] for place in fleet.place]
    here = np.array([place.mean_c[int(np.clip(today - place.first_day, 0, place.days - 1))] for place in air])
    least = np.interp(np.where(np.isnan(at_c), here, at_c), TEMPERATURE_C, LEAST_V)
    pack = now.state.pack
    charged = now.soc[LIKELY] >= LEAST_CHARGE
    return np.asarray(pack.lead & charged & (volts < least * pack.nominal_v / NOMINAL_V))
