"""How damp each car's place has been over the past year."""

import numpy as np

from scheduler.duties.conditions import Fleet, Floats
from scheduler.duties.policy import Policy
from scheduler.physics.air.damp import damp_share
from scheduler.physics.climate import Place, span
from scheduler.vocabulary.errors import BadInput

YEAR_DAYS = 365


def damp_shares(fleet: Fleet, today: float, policy: Policy) -> Floats:
    """Share of the past year's days that were damp at each car's place, shape (n,), 0..1."""
    by_place = np.array([_past_year(place, today, policy) for place in fleet.places])
    return np.asarray(by_place[fleet.place])


def _past_year(place: Place, today: float, policy: Policy) -> float:
    end = int(today) + 1
    if not place.first_day < end <= place.end_day:
        raise BadInput("today", f"is outside the days of {place.name}")
    year = span(place, max(place.first_day, end - YEAR_DAYS), end)
    return damp_share(year.mean_c, year.rh_pct, policy.damp_rh_pct)
