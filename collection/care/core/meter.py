"""What readings of a car mean where they are taken."""

import json
from collections.abc import Mapping
from datetime import date

from collection.life.core.gather import gather
from collection.life.core.store import policy_of
from collection.models import Vehicle
from scheduler.duties.meter import Band, Bands, answer, bands
from scheduler.vocabulary.duties import DUTIES
from scheduler.vocabulary.quantities import QUANTITY
from scheduler.vocabulary.units import Unit

__all__ = ["Band", "Bands", "answer", "as_typed", "bands_of", "meter_of"]
Meter = Mapping[str, Bands]  # by quantity, and by the name of a field where a position has bands of its own


def meter_of(vehicle: Vehicle, today: date) -> Meter:
    """The bands of a car; none where its record cannot be read, or it has left."""
    if vehicle.left_on:
        return {}
    try:
        fleet = gather([vehicle.pk], today=today).fleet
        made = bands(fleet, 0, float(today.toordinal()), policy_of(vehicle.organisation_id))
    except ValueError:
        return {}
    return {_field(name): each for name, each in made.items()}


def _field(name: str) -> str:
    """The core counts positions; a form's field has their code."""
    quantity, _, position = name.rpartition("_")
    return f"{quantity}_{QUANTITY[quantity].positions[int(position)].code}" if position.isdigit() else name


def bands_of(meter: Meter, quantity: str, position: str) -> Bands:
    """Those of a position where it has any, else of its quantity."""
    return meter.get(f"{quantity}_{position}") or meter.get(quantity, ())


def as_typed(of: Bands, unit: Unit) -> str:
    """For the page, in the unit that a person types: from the highest.

    A row is [least or null, text, grade, duty, title]; the last two name the work that follows, empty where
    none does.
    """
    rows = [
        [
            unit.from_si(band.least) if band.least > float("-inf") else None,
            band.text,
            band.grade,
            *_work_after(band.care),
        ]
        for band in of
    ]
    return json.dumps(rows, ensure_ascii=False)


def _work_after(care: str) -> tuple[str, str]:
    """The duty that a kind of care answers, and its title."""
    duty = next((duty for duty in DUTIES if duty.answered_by[0].care == care), None) if care else None
    return (duty.code, duty.title) if duty else ("", "")
