"""Tests under load: they condemn a battery that fails while it is charged.

Half the cold-cranking current for 15 seconds must leave so many volts; and what a tester reads of the
cold-cranking current must be most of what the label says. Neither tells anything of a battery that is not at
least three-quarters charged, nor does a tester's figure of a cold one. Cranking power shows no capacity.
"""

import numpy as np

from scheduler.duties.battery.charge.decline import lost
from scheduler.duties.battery.charge.evidence import ROW_STRIDE, air_at
from scheduler.duties.battery.charge.state import State
from scheduler.duties.conditions import READING_KINDS, Bools, Fleet, Floats, Ints
from scheduler.duties.windows import Day, each_row
from scheduler.physics.battery.charge_state import NOMINAL_V
from scheduler.vocabulary.constants import Constant, Standing

LIKELY = 1
# 12 V, lead-acid: least volts by the battery's temperature (three car makers' workshop books, published).
TEMPERATURE_C = (-18.0, -12.0, -7.0, -1.0, 4.0, 10.0, 16.0, 21.0)
LEAST_V = (8.5, 8.7, 8.9, 9.1, 9.3, 9.4, 9.5, 9.6)
LEAST_CHARGE = 0.75
LEAST_CRANKING_PCT = Constant(
    70.0, "% of the label", "a tester's maker: 70 % and above is good; the trade: 80", Standing.PUBLISHED
)
TESTER_C = (15.0, 30.0)  # where a tester's figure may be read


def failed_under_load(fleet: Fleet, state: State, today: Day) -> Bools:
    """Where (n,) the newest test of the battery that is in it, of either sort, was failed while it was
    charged."""
    table, failed = fleet.readings, np.zeros(len(fleet), bool)
    kinds = [READING_KINDS.index(quantity) for quantity in ("load_volts", "cranking_share")]
    of_load = table.kind == kinds[0]
    picked = of_load | (table.kind == kinds[1])
    picked &= (table.day <= each_row(today, len(fleet))[table.row]) & ~(
        table.day < fleet.battery_installed[table.row]
    )
    (at,) = np.nonzero(picked & state.pack.lead[table.row])
    if not at.size:
        return failed
    row, day = table.row[at], table.day[at]
    at_c = np.where(np.isnan(table.temperature_c[at]), air_at(fleet, row, day), table.temperature_c[at])
    least = np.interp(at_c, TEMPERATURE_C, LEAST_V) * state.pack.nominal_v[row] / NOMINAL_V
    cranks = (at_c >= TESTER_C[0]) & (at_c <= TESTER_C[1])
    conclusive = (charge_at(state, row, day) >= LEAST_CHARGE) & (of_load[at] | cranks)
    bad = np.where(of_load[at], table.value[at] < least, table.value[at] < LEAST_CRANKING_PCT.value)
    for kind in kinds:  # the newest of each sort that tells anything
        mine = np.flatnonzero(conclusive & (table.kind[at] == kind))
        mine = mine[np.argsort(day[mine], kind="stable")]
        newest = np.zeros(len(fleet), bool)
        newest[row[mine]] = bad[mine]
        failed |= newest
    return failed


def charge_at(state: State, row: Ints, day: Floats) -> Floats:
    """The likely charge (m,) of batteries ``row`` on days (m,), from what was known by then; NaN: nothing
    was."""
    says = np.flatnonzero(~np.isnan(state.events.soc))
    event_row, event_day = state.events.row[says], state.events.day[says]
    key = event_row * ROW_STRIDE + event_day
    last = np.searchsorted(key, row * ROW_STRIDE + day, side="right") - 1
    known = (last >= 0) & (np.append(event_row, -1)[last] == row)
    soc = np.full(row.size, np.nan)
    event = says[last[known]]
    start = state.events.day[event]
    gone = lost(state.rates.case(LIKELY), state.air, row[known], start, day[known])
    soc[known] = np.clip(state.events.soc[event], 0.0, 1.0) - gone
    return np.where(day >= state.floating_since[row], 1.0, soc)  # on a maintainer
