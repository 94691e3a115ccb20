"""A year of care as it is and as it would be, for cars of the record; nothing is stored."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from collection.life.core.gather import Gathered, gather
from collection.life.core.places import place_for
from collection.life.core.store import policy_of
from collection.models import Building, Climate, Vehicle
from scheduler.duties.policy import PolicyTerm
from scheduler.physics.climate import Place
from scheduler.year import KINDS, MAINTAINER_CHECK, Changes, Comparison, Outcome, Rates, compare, rate_terms

__all__ = [
    "KINDS",
    "MAINTAINER_CHECK",
    "Asked",
    "Changes",
    "Compared",
    "Outcome",
    "PolicyTerm",
    "compare_cars",
    "rates",
]

MOST_CARS = 300  # beyond that an even sample of so many is worked out, so that the page answers soon


@dataclass(frozen=True)
class Asked:
    """What would be otherwise, as a person chose it; climate and shelter make the places of ``changes``."""

    changes: Changes
    climate: Climate | None = None
    shelter: str = ""


@dataclass(frozen=True)
class Compared:
    """The two years, and how many of the cars were worked out for them."""

    now: Outcome
    changed: Outcome
    cars: int
    sampled: int


def rates() -> tuple[PolicyTerm, ...]:
    """What things cost: each rate with its default, limits and reason."""
    return rate_terms()


def compare_cars(
    pks: Sequence[int], *, organisation: int, asked: Asked, costs: Mapping[str, float], today: date
) -> Compared:
    """The coming year of some cars of one organisation with and without the changes.

    ValueError where the record or the changes do not allow the computation.
    """
    sample = _even(sorted(pks), MOST_CARS)
    gathered = gather(sample, today=today)
    comparison = compare(
        gathered.fleet,
        _changes(gathered, asked, today),
        float(today.toordinal()),
        policy_of(organisation),
        Rates(**costs),
    )
    return _for_all(comparison, len(pks), len(sample))


def _even(pks: list[int], most: int) -> list[int]:
    """At most so many, evenly spread over the list."""
    picked = np.linspace(0, len(pks) - 1, min(len(pks), most)).round().astype(int)
    return [pks[i] for i in picked]


def _for_all(comparison: Comparison, cars: int, sampled: int) -> Compared:
    factor = cars / sampled
    return Compared(comparison.now.scaled(factor), comparison.changed.scaled(factor), cars, sampled)


def _changes(gathered: Gathered, asked: Asked, today: date) -> Changes:
    moved = asked.climate is not None or asked.shelter
    return replace(asked.changes, places=_places(gathered, asked, today)) if moved else asked.changes


def _places(gathered: Gathered, asked: Asked, today: date) -> tuple[Place, ...]:
    """The air that each of the fleet's places would have; cars that share a place move together."""
    related = (
        "bay__building__site__climate__measured__site",
        "bay__building__measured__climate",
        "organisation",
    )
    vehicles = Vehicle.objects.filter(pk__in=gathered.pks).select_related(*related).order_by("pk")
    places = list(gathered.fleet.places)
    for vehicle, index in zip(vehicles, gathered.fleet.place, strict=True):
        if places[index] is gathered.fleet.places[index]:
            places[index] = _place_of(vehicle, asked, today)
    return tuple(places)


def _place_of(vehicle: Vehicle, asked: Asked, today: date) -> Place:
    building = vehicle.bay.building if vehicle.bay else None
    climate = asked.climate
    if climate is None:
        climate = building.site.climate if building else vehicle.organisation.sites.all()[0].climate
    return place_for(climate, Building(shelter=asked.shelter) if asked.shelter else building, today)
