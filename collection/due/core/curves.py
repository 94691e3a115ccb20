"""The curve behind a duty, where there is one, and what was measured along it; for one car."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

import numpy as np

from collection.life.core.gather import gather
from collection.life.core.memoised import memoised
from collection.life.core.store import policy_of
from collection.models import Vehicle
from scheduler.duties.battery.charge.evidence import KINDS, Events
from scheduler.duties.battery.charge.evidence import gather as charge_evidence
from scheduler.duties.conditions import Fleet
from scheduler.duties.policy import Policy
from scheduler.duties.table import BY_NAME, BandOf
from scheduler.duties.windows import Band, Level
from scheduler.vocabulary.duties import DUTY

__all__ = ["Band", "Drawn", "Level", "Measured", "curves"]


@dataclass(frozen=True)
class Measured:
    """One known level: when, how much, and whether a charge or a reading showed it."""

    day: date
    value: float
    kind: str


@dataclass(frozen=True)
class Drawn:
    """A curve with what was measured along it."""

    duty: str
    band: Band
    measured: tuple[Measured, ...]


def curves(vehicle: Vehicle, duties: Iterable[str], *, first: date, last: date, today: date) -> list[Drawn]:
    """The curves of those of the duties that have one, day by day from first to last.

    ValueError where the record does not allow the computation.
    """
    fleet = gather([vehicle.pk], today=today).fleet
    policy = policy_of(vehicle.organisation_id)
    return [
        memoised(_draw, fleet, duty, band_of, first, last, today, policy)
        for duty in duties
        if (band_of := BY_NAME[duty].band)
    ]


def _draw(  # all that a curve depends on
    fleet: Fleet, duty: str, band_of: BandOf, first: date, last: date, today: date, policy: Policy
) -> Drawn:
    begin = float(first.toordinal())
    if DUTY[duty].curve_since:
        happened = fleet.fuel_events.day[fleet.fuel_events.day <= today.toordinal()]
        begin = max(begin, happened.max(initial=begin))
    days = np.arange(begin, last.toordinal() + 1.0)
    charged = DUTY[duty].effect == "charged"
    measured = _measured(charge_evidence(fleet, float(today.toordinal())).events) if charged else []
    return Drawn(duty, band_of(fleet, days, policy), tuple(m for m in measured if m.day >= first))


def _measured(events: Events) -> list[Measured]:
    known = zip(events.day, events.soc, events.kind, strict=True)
    return [
        Measured(date.fromordinal(int(day)), float(soc), KINDS[kind])
        for day, soc, kind in known
        if not np.isnan(soc)
    ]
