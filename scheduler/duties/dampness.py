"""How damp each car's place has been over the past year."""

import numpy as np

from scheduler.duties.conditions import Fleet, Floats
from scheduler.duties.once import once_a_fleet
from scheduler.duties.policy import Policy
from scheduler.duties.windows import Day, each_row
from scheduler.physics.air.damp import dampness
from scheduler.physics.climate import Place, daily, running
from scheduler.vocabulary.errors import BadInput

YEAR_DAYS = 365


@once_a_fleet
def damp_shares(fleet: Fleet, today: Day, policy: Policy) -> Floats:
    """How damp the past year was at each car's place, shape (n,), 0 to 1: 1 where every day was."""
    end, share = np.floor(each_row(today, len(fleet))) + 1, np.empty(len(fleet))
    for index, place in enumerate(fleet.places):
        here = fleet.place == index
        if here.any():
            share[here] = _past_years(place, end[here].astype(np.int64), policy.damp_rh_pct)
    return share


def _past_years(place: Place, end: np.ndarray, above_pct: float) -> Floats:
    """The share over the year up to each ``end`` (k,), the day after its last."""
    if not (place.first_day < end.min() and end.max() <= place.end_day):
        raise BadInput("today", f"is outside the days of {place.name}")
    begin = np.maximum(end - YEAR_DAYS, place.first_day)

    def damp(part: Place) -> np.ndarray:
        return dampness(part.mean_c, part.rh_pct, above_pct)

    first = int(begin.min())
    total = running(daily(place, ("damp", above_pct), damp, first, int(end.max())))
    return np.asarray((total[end - first] - total[begin - first]) / (end - begin))
