"""The record of cars as plain values by the names of its fields, and what its entries told of them.

Names: a column of the car (``regime``), or part, which of several and column (``tyre.front_left.date_code``,
``battery.17.made_on`` by the battery's key). Empty fields are left out. What leads to a person stands in no
chain, so that it can be forgotten: owner, registration and notes. Lists are one text, parted by semicolons.
"""

from collections.abc import Collection, Iterator, Mapping, Sequence
from datetime import date
from typing import Any

from django.db.models import Model, QuerySet

from collection.chain.links import Facts, saved_facts
from collection.chain.replay import BAY, EMPTY, Fact, bay_line, moves_of
from collection.life.record_entries import as_written, record_entries
from collection.models import (
    Battery,
    CareKind,
    CarRule,
    Entry,
    Fluid,
    Fuel,
    HandbookValue,
    LastUse,
    OwnDuty,
    RecommissionCase,
    RecordEntry,
    Tyre,
    Vehicle,
)
from scheduler.vocabulary.machine import BUILD

Values = dict[str, Any]
LIST_PARTED = "; "

CAR = (
    "bay_id",
    "marque",
    "model",
    "year",
    "chassis_number",
    "engine",
    "fuel_system",
    "tank_litres",
    "tank_material",
    "tank_venting",
    "system_volts",
    *(part.code for part in BUILD),
    "body",
    "photograph__digest",
    "regime",
    "stored_since",
    "on_stands",
    "left_on",
    "taken_back_on",
    "assumed",
)
NAMED = {"bay_id": BAY, "photograph__digest": "photograph"}  # columns whose field is called otherwise
PARTS: dict[str, tuple[type[Model], str, tuple[str, ...]]] = {
    "battery": (
        Battery,
        "pk",
        (
            "chemistry",
            "capacity_ah",
            "volts",
            "made_on",
            "installed_on",
            "removed_on",
            "isolated",
            "maintainer_since",
            "drain_ma",
            "full_sg",
        ),
    ),
    "fuel": (Fuel, "", ("grade", "bio_pct", "litres", "filled_on", "stabilised_on", "as_of")),
    "fluid": (Fluid, "kind", ("type", "changed_on", "glycol_pct")),
    "tyre": (Tyre, "position", ("date_code", "placard_kpa")),
    "last": (LastUse, "event", ("on", "basis")),
    "rule": (
        CarRule,
        "duty",
        ("interval", "not_before", "reason", "put_off_until", "put_off_reason"),
    ),
    "own": (
        OwnDuty,
        "ref",
        ("kind", "title", "due_on", "interval", "remind_days", "minutes", "ended_on"),
    ),
    "put_away": (RecommissionCase, "", ("known_preparation", "damp", "conditions")),
    "handbook": (HandbookValue, "check_key", ("low", "high", "source")),
}


def recorded_values(vehicles: Collection[int]) -> dict[int, Values]:
    """What stands on the record of each of these cars, by its key."""
    by_car: dict[int, Values] = {}
    for row in Vehicle.objects.filter(pk__in=vehicles).values("pk", *CAR):
        pk = row.pop("pk")
        by_car[pk] = dict(_filled({NAMED.get(name, name): row[name] for name in row}))
    for part, (model, key, names) in PARTS.items():
        rows: QuerySet[Any, Any] = model._default_manager.filter(vehicle__in=by_car)
        for row in rows.values("vehicle_id", *((key,) if key else ()), *names):
            start = f"{part}.{row[key]}." if key else f"{part}."
            by_car[row["vehicle_id"]] |= _filled({start + name: row[name] for name in names})
    return by_car


def _filled(values: Mapping[str, Any]) -> Iterator[tuple[str, Any]]:
    for name, value in values.items():
        plain = LIST_PARTED.join(value) if isinstance(value, list) else value
        if plain not in EMPTY:
            yield name, plain.isoformat() if isinstance(plain, date) else plain


def record_facts(entry: RecordEntry, *, by: str) -> Facts:
    """An entry of the record in the form of every entry of a chain; ``by`` is its author's pseudonym."""
    return as_written(entry) | saved_facts(entry, by=by)


def stands_in(vehicle: Vehicle) -> list[Fact]:
    """Where a car stood through time, by its record and the moves of its log."""
    names = ("id", "kind", "done_at", "recorded_at", "details", "corrects", "idempotency_key")
    log: Sequence[Any] = Entry.objects.filter(
        vehicle=vehicle, kind__in=(CareKind.MOVED, CareKind.WITHDRAWN)
    ).values(*names)
    return bay_line(map(as_written, record_entries([vehicle.pk])[vehicle.pk]), moves_of(log))
