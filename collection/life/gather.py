"""From records to the core's arrays: a few set-based queries, no arithmetic.

What the record leaves empty becomes NaN or -1; the core makes the assumption and names it.
"""

import hashlib
from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from datetime import date
from typing import Any, TypeVar
from zoneinfo import ZoneInfo

import numpy as np
from django.db.models import prefetch_related_objects

from collection.life import tables
from collection.life.log_events import NAN, LogOfCar, ordinal, read
from collection.life.places import place_for
from collection.life.rows import current_battery, row_of
from collection.models import Climate, Entry, Reading, Vehicle
from collection.models.care import effective
from scheduler.duties import conditions as c
from scheduler.physics.climate import Place

RELATED = (
    "bay__building__site__climate__measured__site",
    "bay__building__measured__climate",
    "fuel",
    "organisation",
)
PREFETCH = (
    "bay__building__site__climate__months",
    "bay__building__measured__climate__months",
    "batteries",
    "fluids",
    "tyres",
    "last_uses",
)
IN_NO_BAY = ("organisation__sites__climate__months", "organisation__sites__climate__measured__site")


@dataclass(frozen=True)
class Gathered:
    """A fleet and the car of each of its rows."""

    vehicles: list[Vehicle]
    fleet: c.Fleet

    @property
    def pks(self) -> list[int]:
        """The key of each row."""
        return [vehicle.pk for vehicle in self.vehicles]

    def fingerprint(self, row: int) -> str:
        """A digest of everything that the forecast of one row depends on."""
        one = self.fleet.take([row])
        parts = [self.fleet.places[one.place[0]].name]
        for table in (one, one.readings, one.fuel_events, one.charges):
            parts += [v.tobytes().hex() for v in vars(table).values() if isinstance(v, np.ndarray)]
        return hashlib.sha256("|".join(parts).encode()).hexdigest()


# What was read inside ``remembered``, by what was asked; None outside.
_REMEMBERED: ContextVar[dict[Any, Any] | None] = ContextVar("gathered", default=None)
Found = TypeVar("Found")


@contextmanager
def remembered() -> Iterator[None]:
    """Read the same cars and thresholds only once: for a page that asks much about one car.

    Nothing may be written inside: what was read before would be told after.
    """
    token = _REMEMBERED.set({})
    try:
        yield
    finally:
        _REMEMBERED.reset(token)


def once(key: Any, make: Callable[[], Found]) -> Found:
    """What ``make`` gives, inside ``remembered`` only once for one key."""
    kept = _REMEMBERED.get()
    if kept is None:
        return make()
    if key not in kept:
        kept[key] = make()
    return kept[key]  # type: ignore[no-any-return]  # what was made under this key


def gather(pks: Sequence[int], *, today: date) -> Gathered:
    """The cars as a fleet on ``today``, in the order of their primary keys.

    The care log is read up to that day, so that a past day gives what was known of the car then.
    """
    return once(
        ("fleet", tuple(pks), today), lambda: _gathered([(vehicle, today) for vehicle in _vehicles(pks)])
    )


def gather_days(pk: int, days: Sequence[date]) -> Gathered:
    """One car as it was known on each of some days: a row a day, in their order."""
    return _gathered([(vehicle, day) for vehicle in _vehicles([pk]) for day in days])


def _vehicles(pks: Sequence[int]) -> list[Vehicle]:
    return once(("cars", tuple(pks)), lambda: _read(pks))


def _read(pks: Sequence[int]) -> list[Vehicle]:
    found = Vehicle.objects.filter(pk__in=pks).select_related(*RELATED)
    cars = list(found.prefetch_related(*PREFETCH).order_by("pk"))
    prefetch_related_objects([car for car in cars if car.bay is None], *IN_NO_BAY)
    return cars


def _gathered(looks: Sequence[tuple[Vehicle, date]]) -> Gathered:
    """A row for each look at a car on a day; all in the air that reaches the latest of the days."""
    cars = {vehicle.pk: vehicle for vehicle, _ in looks}
    told = once(("told", tuple(cars)), lambda: _told(cars))
    latest = max((day for _, day in looks), default=date.min)
    logs = [_log(vehicle, told[vehicle.pk], day) for vehicle, day in looks]
    places: dict[int, int] = {}
    kept: list[Place] = []
    rows = []
    for (vehicle, day), log in zip(looks, logs, strict=True):
        place = _place_of(vehicle, latest)
        index = places.setdefault(id(place), len(kept))
        if index == len(kept):
            kept.append(place)
        rows.append(row_of(vehicle, log, index, day))
    vehicles = [vehicle for vehicle, _ in looks]
    return Gathered(vehicles, _fleet(rows, logs, vehicles, kept))


def _place_of(vehicle: Vehicle, today: date) -> Place:
    if vehicle.bay is not None:
        building = vehicle.bay.building
        return place_for(building.site.climate, building, today)
    sites = vehicle.organisation.sites.all()  # fetched with the cars
    climate = sites[0].climate if sites else Climate.objects.filter(organisation=None).first()
    if climate is None:
        raise ValueError(f"{vehicle}: add a site with its climate first")
    return place_for(climate, None, today)


@dataclass(frozen=True)
class _Told:
    """An entry that stands, its day at the site, and what was measured."""

    entry: Mapping[str, Any]
    day: float
    readings: list[Mapping[str, Any]]


def _told(vehicles: Mapping[int, Vehicle]) -> dict[int, list[_Told]]:
    """The standing entries of each car, oldest first."""
    entries = effective(Entry.objects.filter(vehicle__in=vehicles)).order_by("done_at", "recorded_at")
    readings: dict[Any, list[Mapping[str, Any]]] = defaultdict(list)
    # by car, not by entry: a subquery of entries is what PostgreSQL plans worst
    for reading in Reading.objects.filter(entry__vehicle__in=vehicles).values():
        readings[reading["entry_id"]].append(reading)
    zones = {pk: ZoneInfo(v.bay.building.site.time_zone if v.bay else "UTC") for pk, v in vehicles.items()}
    told: dict[int, list[_Told]] = {pk: [] for pk in vehicles}
    for entry in entries.values("id", "vehicle_id", "kind", "done_at", "recorded_at", "details"):
        done = min(entry["done_at"], entry["recorded_at"])  # a clock ahead claims what is yet to come
        day = float(done.astimezone(zones[entry["vehicle_id"]]).toordinal())
        told[entry["vehicle_id"]].append(_Told(entry, day, readings[entry["id"]]))
    return told


def _log(vehicle: Vehicle, told: Sequence[_Told], until: date) -> LogOfCar:
    """The log of a car as it stood on a day."""
    log, battery = LogOfCar(), current_battery(vehicle)
    if battery and battery.maintainer_since and battery.maintainer_since <= until:
        log.charges.append((ordinal(battery.maintainer_since), NAN, True))
    for one in told:
        if one.day <= until.toordinal():
            read(log, one.entry, one.day, one.readings)
    return log


def _fleet(
    rows: Sequence[dict[str, Any]], logs: Sequence[LogOfCar], vehicles: Sequence[Vehicle], places: list[Place]
) -> c.Fleet:
    columns = {name: np.array([row[name] for row in rows]) for name in rows[0]} if rows else {}
    return c.Fleet(
        **columns,
        places=tuple(places),
        readings=tables.readings(logs, vehicles),
        fuel_events=tables.fuel_events(logs, vehicles),
        charges=tables.charges(logs, vehicles),
    )
