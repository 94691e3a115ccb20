"""From records to the core's arrays: a few set-based queries, no arithmetic.

What the record leaves empty becomes NaN or -1; the core makes the assumption and names it.
"""

import hashlib
from bisect import bisect_right
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import partial
from typing import Any

import numpy as np
from django.db.models import prefetch_related_objects

from collection.life.core import tables
from collection.life.core.dated import STANDS, Record, day_or_none, maintained, records_of, stands_of
from collection.life.core.log_entries import FOR_EVER, LogEntry, entries_of, zone_of_car
from collection.life.core.once import once
from collection.life.core.parts import parts_on
from collection.life.core.places import place_for
from collection.life.core.rows import Look, row_of
from collection.life.core.rules import rules_on
from collection.life.core.stood import Bays, Stays, bays_named, stood
from collection.life.core.versions import FOR_EVER_BEFORE, airs_of, settings_of, settings_of_all
from collection.life.settings import Settings
from collection.models import Bay, CareKind, Climate, Vehicle
from scheduler.duties import conditions as c
from scheduler.life.log import LogOfCar, maintainer_off, maintainer_on, ordinal, read
from scheduler.life.stays import air_of
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
KEY_OFF_DRAIN = "key_off_drain"
# What a car is made of and fitted with: where one of these differs, its states run otherwise.
PARTS_KNOWN = (
    "chemistry",
    "capacity_ah",
    "battery_volts",
    "battery_made",
    "battery_installed",
    "drain_a",
    "isolated",
    "full_sg",
    "system_volts",
    "fuel_system",
    "fuel",
    "tank_litres",
    "tank_material",
    "venting",
    "fluid_type",
    "fluid_changed",
    "coolant_share",
    "tyre_made",
    "placard_kpa",
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
        for table in (one, one.readings, one.fuel_events, one.charges, one.put_in, one.rules):
            parts += [v.tobytes().hex() for v in vars(table).values() if isinstance(v, np.ndarray)]
        return hashlib.sha256("|".join(parts).encode()).hexdigest()


def gather(pks: Sequence[int], *, today: date) -> Gathered:
    """The cars as a fleet on ``today``, in the order of their primary keys.

    The care log is read up to that day, so that a past day gives what was known of the car then.
    """
    return once(("fleet", tuple(pks), today), lambda: _gather(pks, today))


def _gather(pks: Sequence[int], today: date) -> Gathered:
    cars = _vehicles(pks)
    by_key = {vehicle.pk: vehicle for vehicle in cars}
    entries, written, known = entries_by_car(by_key), _records(by_key), _surroundings(by_key)
    return _gathered(
        [_as_it_stands(vehicle, entries[vehicle.pk], written[vehicle.pk], known, today) for vehicle in cars],
        today,
    )


def gather_days(pk: int, days: Sequence[date], *, by_now: bool = False) -> Gathered:
    """One car as it was known at the end of each of some days: a row a day, in their order.

    ``by_now``: as it was then by what is known now. Facts change on few days: a row is built for each of
    these, and repeated.
    """
    [vehicle] = _vehicles([pk])
    entries, written, latest = entries_by_car({pk: vehicle})[pk], _records({pk: vehicle})[pk], max(days)
    changes = sorted(
        {
            *_changes(vehicle),
            *(ordinal(day) for day in written.days()),
            *(day for one in entries for day in (one.day, one.since, one.until)),
            *(ordinal(day) for day in settings_of(vehicle.organisation_id).days),
        }
    )
    state = np.searchsorted(changes, [day.toordinal() for day in days], side="right")
    _, first, row = np.unique(state, return_index=True, return_inverse=True)
    look = _as_it_stands if by_now else _as_known
    known = _surroundings({pk: vehicle})
    looks = [look(vehicle, entries, written, known, days[position]) for position in first]
    gathered = _gathered(looks, latest)
    return Gathered([vehicle] * len(days), gathered.fleet.repeated(row))


@dataclass(frozen=True)
class Stretch:
    """Days from ``first`` to ``last``, ordinals, and the car in one row as it was through them."""

    first: float
    last: float
    fleet: c.Fleet


def stretches(
    pk: int, *, first: date, last: date, today: date, readings: Sequence[str] = ()
) -> list[Stretch]:
    """One car from ``first`` to ``last``, stretch by stretch, by all that is known on ``today``.

    A stretch ends where something that the car is made of or fitted with became otherwise, and where one of
    the ``readings`` was taken. The last one goes on beyond ``today`` as the car then stands.
    """
    [vehicle] = _vehicles([pk])
    end = max(first, min(last, today))
    entries, written = entries_by_car({pk: vehicle})[pk], _records({pk: vehicle})[pk]
    changes = {ordinal(day) for day in written.days()} | set(_changes(vehicle))
    changes |= {one.day for one in entries if one.stands and _tells_of_parts(one, readings)}
    begins = [
        ordinal(first),
        *sorted(day for day in changes if first.toordinal() < day <= end.toordinal()),
    ]
    now = gather([pk], today=end).fleet
    if len(begins) == 1:
        return [Stretch(begins[0], ordinal(last), now)]
    ends = [date.fromordinal(int(day) - 1) for day in begins[1:]]
    then = _with_drain(gather_days(pk, ends, by_now=True).fleet, now)
    fleets = [*(then.take([row]) for row in range(len(ends))), now]
    parts: list[Stretch] = []
    for begin, until, fleet in zip(begins, [*map(ordinal, ends), ordinal(last)], fleets, strict=True):
        if parts and not readings and _same_parts(parts[-1].fleet, fleet):
            begin = parts.pop().first
        parts.append(Stretch(begin, until, fleet))
    return parts


def _tells_of_parts(one: LogEntry, readings: Sequence[str]) -> bool:
    quantities = {reading["quantity"] for reading in one.readings}
    return one.entry["kind"] == CareKind.FLUID_CHANGED or bool(quantities & {KEY_OFF_DRAIN, *readings})


def _with_drain(then: c.Fleet, now: c.Fleet) -> c.Fleet:
    """A drain first measured later was there before too, as long as the battery is the same."""
    drain, battery = [*then.drain_a, *now.drain_a], [*then.battery_installed, *now.battery_installed]
    for row in range(len(then) - 1, -1, -1):
        if np.isnan(drain[row]) and np.array_equal(battery[row], battery[row + 1], equal_nan=True):
            drain[row] = drain[row + 1]
    return replace(then, drain_a=np.array(drain[:-1]))


def _same_parts(one: c.Fleet, other: c.Fleet) -> bool:
    return all(
        np.array_equal(getattr(one, name), getattr(other, name), equal_nan=True) for name in PARTS_KNOWN
    )


def entries_of_car(vehicle: Vehicle) -> list[LogEntry]:
    """The whole log of one car with the days on which each entry was known."""
    [read_once] = _vehicles([vehicle.pk])
    return entries_by_car({vehicle.pk: read_once})[vehicle.pk]


def _vehicles(pks: Sequence[int]) -> list[Vehicle]:
    return once(("cars", tuple(pks)), lambda: _read(pks))


def _read(pks: Sequence[int]) -> list[Vehicle]:
    vehicles = Vehicle.objects.filter(pk__in=pks).select_related(*RELATED)
    cars = list(vehicles.prefetch_related(*PREFETCH).order_by("pk"))
    prefetch_related_objects([car for car in cars if car.bay is None], *IN_NO_BAY)
    return cars


def _gathered(looks: Sequence[Look], today: date) -> Gathered:
    """A row for each look at a car; all in the air that reaches ``today``."""
    places: dict[int, int] = {}
    kept: list[Place] = []
    rows = []
    for look in looks:
        place = air_of(list(_airs(look, today)))
        index = places.setdefault(id(place), len(kept))
        if index == len(kept):
            kept.append(place)
        rows.append(row_of(look, index, today))
    return Gathered([look.vehicle for look in looks], _fleet(rows, looks, kept))


def _airs(look: Look, today: date) -> Iterator[tuple[float, Place]]:
    """The air around the car, place after place, each through its own versions."""
    ends = [*(since for since, _ in look.stays[1:]), FOR_EVER]
    for (begin, bay), end in zip(look.stays, ends, strict=True):
        airs = list(_airs_at(look, bay, today))
        for (since, place), until in zip(airs, [*(since for since, _ in airs[1:]), FOR_EVER], strict=True):
            if max(begin, since) < min(end, until):
                yield max(begin, since), place


def _airs_at(look: Look, bay: Bay | None, today: date) -> Iterator[tuple[float, Place]]:
    if bay is not None:
        return airs_of(bay.building.site, bay.building, look.settings, look.day, reach=today)
    sites = look.vehicle.organisation.sites.all()  # fetched with the cars
    if sites:
        return airs_of(sites[0], None, look.settings, look.day, reach=today)
    climate = Climate.objects.filter(organisation=None).first()
    if climate is None:
        raise ValueError(f"{look.vehicle}: add a site with its climate first")
    return iter([(FOR_EVER_BEFORE, place_for(climate, None, today))])


def entries_by_car(vehicles: Mapping[int, Vehicle]) -> dict[int, list[LogEntry]]:
    """The log of each car, read once for a page."""
    return once(("entries", tuple(vehicles)), lambda: entries_of(vehicles))


@dataclass(frozen=True)
class Surroundings:
    """Where cars stood, and what was set for their sites and organisations."""

    bays: Bays
    settings: Mapping[int, Settings]


def _surroundings(vehicles: Mapping[int, Vehicle]) -> Surroundings:
    owners = {vehicle.organisation_id for vehicle in vehicles.values()}
    return Surroundings(_bays(vehicles), settings_of_all(owners))


def _bays(vehicles: Mapping[int, Vehicle]) -> Bays:
    """The bays of their moves and records, read once for a page."""
    return once(
        ("bays", tuple(vehicles)),
        lambda: bays_named(entries_by_car(vehicles), _records(vehicles), vehicles),
    )


def _records(vehicles: Mapping[int, Vehicle]) -> dict[int, Record]:
    """What was written on the record of each car, read once for a page."""
    zones = {pk: zone_of_car(vehicle) for pk, vehicle in vehicles.items()}
    return once(("records", tuple(vehicles)), lambda: records_of(vehicles, zones))


def shelters_on(vehicle: Vehicle, days: Sequence[date]) -> list[str]:
    """What the car stood under on each of some days, by all that is known now; empty where in no bay."""
    if not days:
        return []
    by_key = {vehicle.pk: _vehicles([vehicle.pk])[0]}
    entries, written, latest = entries_by_car(by_key)[vehicle.pk], _records(by_key)[vehicle.pk], max(days)
    known = [one for one in entries if one.stands and one.day <= latest.toordinal()]
    stays = stood(by_key[vehicle.pk], known, entries, written, _bays(by_key), latest)
    settings, begins = settings_of(vehicle.organisation_id), [since for since, _ in stays]
    shelters = []
    for day in days:
        bay = stays[bisect_right(begins, day.toordinal()) - 1][1]
        house = settings.building_on(bay.building.site_id, bay.building_id, day) if bay else None
        shelters.append(house.shelter if house else bay.building.shelter if bay else "")
    return shelters


def stands_through(vehicle: Vehicle) -> list[tuple[date | None, bool]]:
    """Since when the car stood on stands or on its wheels, oldest first; None is since nobody knows when."""
    return stands_of(vehicle, record_of_car(vehicle))


def record_of_car(vehicle: Vehicle) -> Record:
    """What was written on the record of one car."""
    return _records({vehicle.pk: vehicle})[vehicle.pk]


def _changes(vehicle: Vehicle) -> Iterator[float]:
    """The days on which the record itself says that something began or ended."""
    fuel = getattr(vehicle, "fuel", None)
    days = [vehicle.stored_since]
    for battery in vehicle.batteries.all():
        days += [battery.installed_on, battery.removed_on, battery.maintainer_since]
    days += [use.on for use in vehicle.last_uses.all()]
    days += [fluid.changed_on for fluid in vehicle.fluids.all()]
    days += [fuel.filled_on, fuel.as_of] if fuel else []
    return (ordinal(day) for day in days if day)


def _as_it_stands(
    vehicle: Vehicle, entries: Sequence[LogEntry], written: Record, known: Surroundings, today: date
) -> Look:
    """The car on a day by all that is known now."""
    stands = [one for one in entries if one.stands and one.day <= today.toordinal()]
    stays = stood(vehicle, stands, entries, written, known.bays, today)
    return _look(vehicle, stands, written, stays, known.settings[vehicle.organisation_id], today)


def _as_known(
    vehicle: Vehicle, entries: Sequence[LogEntry], written: Record, known: Surroundings, day: date
) -> Look:
    """The car at the end of a day by what was known then."""
    log, then = [one for one in entries if one.known_on(day)], written.known_on(day)
    settings = known.settings[vehicle.organisation_id].known_on(day)
    return _look(vehicle, log, then, stood(vehicle, log, entries, then, known.bays, day), settings, day)


def _look(  # all that a look is made of
    vehicle: Vehicle, known: Sequence[LogEntry], written: Record, stays: Stays, settings: Settings, day: date
) -> Look:
    log, parts = LogOfCar(), parts_on(vehicle, written, day)
    spells = maintained(parts.battery, written, day)
    if not written.entries:  # a maintainer that only a row tells of takes the place of all before it
        for since, _ in spells:
            maintainer_on(log, since)
        spells = []
    events: list[tuple[float, LogEntry | bool]] = [*spells, *((one.day, one) for one in known)]
    for at, event in sorted(events, key=lambda pair: pair[0]):
        if isinstance(event, LogEntry):
            read(log, event.entry, event.day, event.readings)
        elif event:
            maintainer_on(log, at)
        else:
            maintainer_off(log, at)
    row = partial(written.value_on, day=day)
    return Look(
        vehicle,
        day,
        log,
        parts,
        stays,
        settings,
        regime=row("regime", row=vehicle.regime),
        on_stands=bool(row(STANDS, row=vehicle.on_stands)),
        stored_since=day_or_none(row("stored_since", row=vehicle.stored_since)),
        rules=rules_on(written, day),
    )


def _fleet(rows: Sequence[dict[str, Any]], looks: Sequence[Look], places: list[Place]) -> c.Fleet:
    columns = {name: np.array([row[name] for row in rows]) for name in rows[0]} if rows else {}
    return c.Fleet(
        **columns,
        places=tuple(places),
        readings=tables.readings(looks),
        fuel_events=tables.fuel_events(looks),
        charges=tables.charges(looks),
        put_in=tables.put_in(looks),
        looks=tables.looks_at_fluids(looks),
        rules=tables.rules(looks),
    )
