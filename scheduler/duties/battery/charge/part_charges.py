"""What charges that were not completed, and drives, left in each battery: credited with what went in.

Each takes the level that the event before it foretells, and adds what its current and hours put in, or what
the engine had to spare at that speed; in the order in which they came, car by car side by side.
"""

from dataclasses import dataclass, replace

import numpy as np

from scheduler.duties.battery.charge.decline import Air, Rates, lost
from scheduler.duties.battery.charge.evidence import KINDS, PART, Events, air_at
from scheduler.duties.battery.charge.pack import nominal_volts
from scheduler.duties.conditions import Fleet, Floats, Ints
from scheduler.duties.policy import Policy
from scheduler.physics.battery.crediting import TAKES_OFF, charged_soc, driven_soc, spare_amps

CHARGER_OFF = 0.15  # policy: how far what a charger of known current put in may be off


@dataclass(frozen=True)
class Pace:
    """How fast each battery (n,) likely runs down, the share that this may be off, and what it holds, Ah."""

    rates: Rates
    off: Floats
    air: Air
    capacity_ah: Floats


def credited(fleet: Fleet, events: Events, held: Floats, pace: Pace, policy: Policy) -> Events:
    """The events, those of part charges with the level (0 to 1) that each left, where one before is known.

    ``held`` (m,): what hardening had left of the capacity at each event.
    """
    at = np.flatnonzero(events.kind == KINDS.index(PART))
    if not at.size:
        return events
    soc, sd = events.soc.copy(), events.sd.copy()
    known = np.maximum.accumulate(np.where(np.isnan(soc), -1, np.arange(soc.size)))
    rank = _ranks(events.row[at])
    before = np.where(rank > 0, np.maximum(known[at], np.append(-1, at[:-1])), known[at])
    before = np.where((before >= 0) & (events.row[before] == events.row[at]), before, -1)
    for turn in range(int(rank.max()) + 1):
        (chosen,) = np.nonzero((rank == turn) & (before >= 0))
        chosen = chosen[~np.isnan(soc[before[chosen]])]
        now, start = at[chosen], before[chosen]
        row = events.row[now]
        gone = lost(pace.rates, pace.air, row, events.day[start], events.day[now], held[start])
        left, unsure = np.clip(soc[start] - gone, 0.0, 1.0), np.hypot(sd[start], pace.off[row] * gone)
        soc[now], off = _after(
            fleet, events.shown[now].astype(np.int64), left, pace.capacity_ah[row] * held[now], policy
        )
        # the fuller it ends, the less it matters how empty it began
        kept = np.divide(1.0 - soc[now], 1.0 - left, out=np.zeros_like(left), where=left < 1.0)
        sd[now] = np.hypot(np.minimum(kept, 1.0) * unsure, off * (soc[now] - left))
    return replace(events, soc=soc, sd=sd)


def _after(fleet: Fleet, entry: Ints, soc: Floats, holds: Floats, policy: Policy) -> tuple[Floats, Floats]:
    """The level after some entries (k,) of what was put into batteries that hold ``holds`` (k,) Ah, and how
    far what went in may be off, a share."""
    table = fleet.put_in
    row, hours, amps = table.row[entry], table.hours[entry], table.amps[entry]
    drove = table.by_engine[entry]
    guessed = np.isnan(amps)
    by_charger = charged_soc(soc, np.where(guessed, policy.charger_a, amps), hours, holds)
    spare = spare_amps(fleet.model_year[row], nominal_volts(fleet)[row], table.kmh[entry])
    by_engine = driven_soc(soc, spare, hours, holds, air_at(fleet, row, table.day[entry]))
    off = np.where(guessed, TAKES_OFF.value, CHARGER_OFF)
    return np.where(drove, by_engine, by_charger), off


def _ranks(row: Ints) -> Ints:
    """0, 1, 2.. within each run of equal rows (k,)."""
    first = np.append(True, row[1:] != row[:-1])
    begin = np.flatnonzero(first)
    return np.asarray(np.arange(row.size) - np.repeat(begin, np.diff(np.append(begin, row.size))))
