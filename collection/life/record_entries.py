"""What was written on the records of cars, as ``collection.chain.replay`` reads it."""

from collections import defaultdict
from collections.abc import Collection
from typing import Any

from collection.chain.replay import RECORD
from collection.models import RecordEntry


def record_entries(vehicles: Collection[int]) -> dict[int, list[RecordEntry]]:
    """The entries of the record of each of these cars, in the order of their writing."""
    by_car: dict[int, list[RecordEntry]] = defaultdict(list)
    for entry in RecordEntry.objects.filter(vehicle__in=vehicles).order_by("link__seq"):
        by_car[entry.vehicle_id].append(entry)
    return by_car


def as_written(entry: RecordEntry) -> dict[str, Any]:
    """One of them under the names of every entry of a chain, moments and keys as they stand in its row."""
    return {
        "id": str(entry.pk),
        "kind": RECORD,
        "done_at": entry.done_at,
        "recorded_at": entry.recorded_at,
        "details": {**entry.facts, "opening": entry.opening, "basis": entry.basis},
        "corrects": None,
    }
