"""Part of a site, with the rest held still.

Every rule between tasks stays within a car and those in front of it; only staff and equipment are
shared. So the part's programme is the whole programme with what the others use taken off.
"""

from dataclasses import replace

import numpy as np

from scheduler.week.problem import Ints, Problem
from scheduler.week.start import Ledger, entered
from scheduler.week.view import Gear, Hours, View


def parties(problem: Problem, chosen: Ints) -> Ints:
    """For each ``chosen`` task (k,) the number of its party (k,): cars that block one another share one."""
    lead = np.arange(len(problem.cars))
    for c, front in enumerate(problem.front):
        for f in front:
            lead[lead == lead[f]] = lead[c]
    return np.asarray(lead[problem.car[chosen]])


def alone(view: View, bucket_of: Ints, mine: Ints) -> View:
    """The view of tasks ``mine`` (positions, (k,)) with what all others use taken off."""
    others = np.setdiff1d(np.arange(len(view.chosen)), mine)
    return less(view, mine, entered(view, bucket_of, others))


def less(view: View, mine: Ints, used: Ledger) -> View:
    """The view of tasks ``mine`` with ``used`` taken off hours, equipment and level room."""
    gear = tuple(
        Gear(g.uses[mine], g.taken[mine], g.minutes - minutes, g.turns - turns)
        for g, minutes, turns in zip(view.gear, used.minutes, used.turns, strict=True)
    )
    hours = Hours(view.hours.capacity - used.hours, view.hours.bound[mine], view.hours.bound_moves)
    return replace(
        view,
        chosen=view.chosen[mine],
        can=view.can[mine],
        cost=view.cost[mine],
        hours=hours,
        room=view.room - used.load,
        gear=gear,
        paid=view.paid | used.walked,
    )
