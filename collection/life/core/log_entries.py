"""What the care log says of cars: each entry with its day, and the days on which it was known."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from collection.models import CareKind, Entry, Vehicle
from collection.models.care import readings_of

LATE_RECORDED = timedelta(days=2)  # what is written down sooner was known when it was done
NAMES = ("id", "vehicle_id", "kind", "done_at", "recorded_at", "details", "corrects", "idempotency_key")
FOR_EVER = float("inf")
NEVER = datetime.max.replace(tzinfo=UTC)


@dataclass(frozen=True)
class LogEntry:
    """One entry, its day at the site, what was measured, and from which day until before which it was known.

    What is written down within two days is known from the day it was done, and so is what was done before
    the first entry of the car was written here; anything else from the day it was written down. What is
    corrected or withdrawn was believed until then.
    """

    entry: Mapping[str, Any]
    day: float
    readings: list[Mapping[str, Any]]
    since: float
    until: float = FOR_EVER

    @property
    def stands(self) -> bool:
        """Whether it is held true today."""
        return self.until == FOR_EVER and self.entry["kind"] != CareKind.WITHDRAWN

    def known_on(self, day: date) -> bool:
        """Whether it was held true at the end of a day."""
        return self.since <= day.toordinal() < self.until and self.entry["kind"] != CareKind.WITHDRAWN


def entries_of(vehicles: Mapping[int, Vehicle]) -> dict[int, list[LogEntry]]:
    """All entries of each car, oldest first, those that stand no more too."""
    entries = Entry.objects.filter(vehicle__in=vehicles).order_by("done_at", "recorded_at")
    readings: dict[Any, list[Mapping[str, Any]]] = defaultdict(list)
    for reading in readings_of(vehicles).values():
        readings[reading["entry_id"]].append(reading)
    rows: dict[int, list[Mapping[str, Any]]] = {pk: [] for pk in vehicles}
    for entry in entries.values(*NAMES):
        rows[entry["vehicle_id"]].append(entry)
    return {pk: _log_entries(rows[pk], readings, zone_of_car(vehicle)) for pk, vehicle in vehicles.items()}


def zone_of_car(vehicle: Vehicle) -> ZoneInfo:
    """The zone in which the days of a car are counted."""
    return ZoneInfo(vehicle.bay.building.site.time_zone if vehicle.bay else "UTC")


def _log_entries(
    entries: list[Mapping[str, Any]], readings: Mapping[Any, list[Mapping[str, Any]]], zone: ZoneInfo
) -> list[LogEntry]:
    opened = min((entry["recorded_at"] for entry in entries), default=NEVER)
    since = {entry["id"]: _day(_known_from(entry, opened), zone) for entry in entries}
    until = {entry["corrects"]: since[entry["id"]] for entry in entries if entry["corrects"]}
    return [
        LogEntry(
            entry,
            _day(happened(entry), zone),
            readings[entry["id"]],
            since[entry["id"]],
            until.get(entry["id"], FOR_EVER),
        )
        for entry in entries
    ]


def happened(entry: Mapping[str, Any]) -> datetime:
    """When it was done; a clock ahead claims what is yet to come."""
    return min(entry["done_at"], entry["recorded_at"])  # type: ignore[no-any-return]  # both are datetimes


def _known_from(entry: Mapping[str, Any], opened: datetime) -> datetime:
    done, recorded = happened(entry), entry["recorded_at"]
    late = recorded - done > LATE_RECORDED and done >= opened
    return recorded if entry["corrects"] or late else done


def _day(moment: datetime, zone: ZoneInfo) -> float:
    return float(moment.astimezone(zone).toordinal())
