"""The record of one car as plain facts, for whoever takes it over; nothing of keys, alarms or contacts."""

from datetime import date
from typing import Any

from collection.models import Battery, CarRule, Fluid, Fuel, LastUse, OwnDuty, Tyre, Vehicle

Facts = dict[str, Any]

CAR = (
    "marque",
    "model",
    "year",
    "registration",
    "chassis_number",
    "engine",
    "fuel_system",
    "tank_litres",
    "tank_material",
    "tank_venting",
    "system_volts",
    "regime",
    "stored_since",
    "on_stands",
)
PARTS: dict[str, tuple[Any, tuple[str, ...]]] = {
    "batteries": (
        Battery,
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
    "fuel": (Fuel, ("grade", "bio_pct", "litres", "filled_on", "stabilised_on", "as_of")),
    "fluids": (Fluid, ("kind", "type", "changed_on", "glycol_pct")),
    "tyres": (Tyre, ("position", "date_code", "placard_kpa")),
    "last_uses": (LastUse, ("event", "on", "basis")),
    "rules": (
        CarRule,
        ("duty", "interval", "not_before", "reason", "put_off_until", "put_off_reason", "since"),
    ),
    "own_duties": (
        OwnDuty,
        (
            "ref",
            "kind",
            "title",
            "due_on",
            "dated_at",
            "interval",
            "begun",
            "remind_days",
            "minutes",
            "note",
            "ended_on",
        ),
    ),
}


def record_of(vehicle: Vehicle) -> Facts:
    """The car and its parts; dates as they are written in ISO 8601."""
    parts = {
        name: [_plain(row, names) for row in model.objects.filter(vehicle=vehicle).order_by("pk")]
        for name, (model, names) in PARTS.items()
    }
    return {"car": _plain(vehicle, CAR) | _not_known(vehicle), **parts}


def _not_known(vehicle: Vehicle) -> Facts:
    """What is only assumed for its kind of car is left for the next keeper to find out."""
    return {name: "" if isinstance(getattr(vehicle, name), str) else None for name in vehicle.assumed_fields}


def _plain(row: Any, names: tuple[str, ...]) -> Facts:
    values = {name: getattr(row, name) for name in names}
    return {name: value.isoformat() if isinstance(value, date) else value for name, value in values.items()}
