"""What forbids a charge for now, and what is to be done instead."""

import numpy as np

from scheduler.duties.battery.charge.cells import condemned
from scheduler.duties.battery.charge.evidence import air_at, unsound_since
from scheduler.duties.battery.charge.load import failed_under_load
from scheduler.duties.battery.charge.state import State
from scheduler.duties.conditions import Fleet, Floats, Ints
from scheduler.duties.windows import NOT_HELD, Day, each_row
from scheduler.physics.battery.batteries import BATTERIES
from scheduler.physics.battery.charging import LITHIUM_COLDEST_C
from scheduler.physics.materials import at

HOLDS = (
    "its volts are those of no sound battery: do not charge it. Look for ice or a split case, take a lead "
    "off, read it again after four hours; still so: have it tested, expect to replace it",
    "its management has cut it off, or its cells are too low to be charged: follow its maker's handbook, "
    "a charge may set it on fire",
    "its cells stand too far apart for any charge to mend: replace it",
    "a lithium battery is not charged below freezing: bring it to where it is warmer first",
    "it failed under load though it was charged: replace it",
)
UNSOUND, CUT_OFF, CONDEMNED, COLD, WEAK = range(len(HOLDS))


def holds(fleet: Fleet, state: State, today: Day, due: Floats) -> Ints:
    """Position in ``HOLDS`` for each battery, (n,), -1 where it may be charged; ``due`` (n,) its day."""
    now = each_row(today, len(fleet))
    lead = at(BATTERIES, fleet.chemistry, "lead").astype(bool)
    unsound = ~np.isnan(unsound_since(fleet, today))
    freezing = air_at(fleet, np.arange(len(fleet)), now) < LITHIUM_COLDEST_C.value
    reasons = [
        unsound & lead,
        unsound,
        condemned(fleet, today),
        failed_under_load(fleet, state, today),
        ~lead & freezing & (due <= now),
    ]
    return np.select(reasons, [UNSOUND, CUT_OFF, CONDEMNED, WEAK, COLD], NOT_HELD).astype(np.int64)
