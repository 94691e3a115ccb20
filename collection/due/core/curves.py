"""The curve behind a duty, where there is one, and what was measured along it; for one car."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from collection.life.core.gather import Stretch
from collection.life.core.memoised import memoised
from collection.life.core.states import course_of, stretches_of
from collection.life.core.store import policy_of
from collection.models import Vehicle
from scheduler.duties.battery.charge.evidence import KINDS, Events
from scheduler.duties.battery.charge.evidence import gather as charge_evidence
from scheduler.duties.conditions import Fleet
from scheduler.duties.policy import Policy
from scheduler.duties.table import BY_NAME
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
    policy = policy_of(vehicle.organisation_id)
    return [
        _draw(vehicle, duty, first, last, today, policy) for duty in duties if BY_NAME[duty].band is not None
    ]


def _draw(vehicle: Vehicle, duty: str, first: date, last: date, today: date, policy: Policy) -> Drawn:
    parts = stretches_of(vehicle, duty, first=first, last=last, today=today)
    begin = float(first.toordinal())
    if DUTY[duty].curve_since:
        begin = _last_fuel_event(parts[-1].fleet, begin, today)
    band = course_of(duty, parts, np.arange(begin, last.toordinal() + 1.0), policy)
    charged = DUTY[duty].effect == "charged"
    return Drawn(duty, band, tuple(_measured(parts, first, today)) if charged else ())


def _last_fuel_event(fleet: Fleet, begin: float, today: date) -> float:
    happened = fleet.fuel_events.day[fleet.fuel_events.day <= today.toordinal()]
    return float(happened.max(initial=begin))


def _measured(parts: Sequence[Stretch], first: date, today: date) -> Iterator[Measured]:
    """Every known level since ``first``, each of the battery that was in the car then."""
    for part in parts:
        until = min(part.last, float(today.toordinal()))
        events = memoised(_evidence, part.fleet, until)
        for day, soc, kind in zip(events.day, events.soc, events.kind, strict=True):
            if max(part.first, first.toordinal()) <= day <= part.last and not np.isnan(soc):
                yield Measured(date.fromordinal(int(day)), float(soc), KINDS[kind])


def _evidence(fleet: Fleet, today: float) -> Events:
    return charge_evidence(fleet, today).events
