"""The record of one car as plain facts, for whoever takes it over; nothing of keys, alarms or contacts."""

from datetime import date
from typing import Any

from django.db.models import Model

from collection.care.queries import record
from collection.models import Vehicle
from scheduler.vocabulary.machine import BUILD_PART

Facts = dict[str, Any]

_LEFT_OUT = {"bay_id", "left_on", "taken_back_on", "assumed", "photograph__digest"}  # of this keeper alone
CAR = ("registration", *(name for name in record.CAR if name not in _LEFT_OUT))
# By the name under which a file holds them: the part of the record, and columns that a file holds besides.
_LISTS: dict[str, tuple[str, tuple[str, ...]]] = {
    "batteries": ("battery", ()),
    "fuel": ("fuel", ()),
    "fluids": ("fluid", ()),
    "tyres": ("tyre", ()),
    "last_uses": ("last", ()),
    "rules": ("rule", ("since",)),
    "own_duties": ("own", ("dated_at", "begun", "note")),
    "put_away": ("put_away", ()),
    "handbook": ("handbook", ()),
}
# What files of the versions before these came do not hold.
LATER_COLUMNS, LATER_PARTS = {"body", *BUILD_PART}, {"put_away", "handbook"}


def _part(part: str, more: tuple[str, ...]) -> tuple[type[Model], tuple[str, ...]]:
    model, key, names = record.PARTS[part]
    return model, (*((key,) if key and key != "pk" else ()), *names, *more)


PARTS = {name: _part(part, more) for name, (part, more) in _LISTS.items()}


def record_of(vehicle: Vehicle) -> Facts:
    """The car and its parts; dates as they are written in ISO 8601."""
    parts = {
        name: [_plain(row, names) for row in model._default_manager.filter(vehicle=vehicle).order_by("pk")]
        for name, (model, names) in PARTS.items()
    }
    return {"car": _plain(vehicle, CAR) | _not_known(vehicle), **parts}


def _not_known(vehicle: Vehicle) -> Facts:
    """What is only assumed for its kind of car is left for the next keeper to find out."""
    return {name: "" if isinstance(getattr(vehicle, name), str) else None for name in vehicle.assumed_fields}


def _plain(row: Any, names: tuple[str, ...]) -> Facts:
    values = {name: getattr(row, name) for name in names}
    return {name: value.isoformat() if isinstance(value, date) else value for name, value in values.items()}
