"""What readings mean, once a day: hours of a place's air, and entries of a car's log.

An entry that a sensor makes is an entry like any other, under the name of who answers for the sensor: it is
corrected or withdrawn at the car, and comes no second time, since its key is the moment that it tells of.
"""

import hashlib
import json
from collections.abc import Iterator, Sequence
from datetime import UTC, date, datetime, timedelta
from itertools import groupby
from zoneinfo import ZoneInfo

from django.db import transaction
from django.db.models import Max

from collection.care.actions.care import record
from collection.care.actions.record import Edit
from collection.care.draft import Draft, Measured
from collection.care.queries.care import LastValues, last_values, zone_of
from collection.life.core.kept_hours import as_days, hours_of_days
from collection.life.refresh import refresh_vehicles
from collection.loggers.actions.entries import proposed
from collection.loggers.actions.files import car_battery
from collection.loggers.actions.measured_air import measure_again
from collection.models import (
    Building,
    CareKind,
    LoggerDay,
    LoggerFile,
    LoggerState,
    MeasuredClimate,
    Person,
    Quantity,
    Sensor,
    SensorReading,
    Site,
    Vehicle,
)
from collection.sensors.core import air_hours, joined, shown_by_volts, worth_logging

RAW = timedelta(days=8)  # policy: a maintainer shows after three days; a week of late readings is waited for
AIR_AGAIN = timedelta(days=7)  # policy: a climate that moved every night would tell nothing
AIR, VOLTS = ("temperature", "humidity"), ("volts", "temperature")
TYRES_AGAIN = timedelta(days=30)  # policy: as often as a careful keeper puts the gauge on
TYRE_FELL_KPA = 15.0  # policy: more than a cold night takes from a tyre
CELL_S = 3600.0
KEY = "sensor-{}-{}-{:.0f}"  # sensor, kind, the hour that it tells of


def make_sense(sensor: Sensor, *, now: datetime) -> int:
    """Log what a car's sensor shows, keep as hours what is older; how many entries that made.

    Nothing is logged of a sensor for which nobody answers, nor of a car that has gone.
    """
    made = 0
    if sensor.vehicle and sensor.by and sensor.vehicle.left_on is None:
        made = _log(sensor, sensor.vehicle, sensor.by, now)
    _keep_hours(sensor, now)
    return made


@transaction.atomic
def _log(sensor: Sensor, vehicle: Vehicle, by: Person, now: datetime) -> int:
    made = 0
    for draft in sorted(_drafts(sensor, vehicle, now), key=lambda draft: draft.done_at or now):
        moment = draft.done_at or now
        if sensor.made_at <= moment <= now:
            key = KEY.format(sensor.pk, draft.kind, moment.timestamp() // CELL_S)
            made += record(draft, by=by, idempotency_key=key, now=now).created
    if made:
        refresh_vehicles([vehicle.pk], today=now.astimezone(zone_of(vehicle)).date())
    return made


def _drafts(sensor: Sensor, vehicle: Vehicle, now: datetime) -> Iterator[Draft]:
    rows = list(sensor.readings.values_list("quantity", "at", "value"))
    battery, source = car_battery(vehicle), {"logger": sensor.name}
    shown = proposed(vehicle, shown_by_volts(rows, battery), source)
    charged = [draft.done_at for draft in shown if draft.kind in (CareKind.CHARGE, CareKind.MAINTAINER)]
    known = last_values(vehicle)
    last = known.readings.get((Quantity.RESTED_VOLTS, ""))
    volts, on = (last.value, last.on) if last else (None, None)
    connected = known.entries.get(CareKind.MAINTAINER)
    on_already = connected is not None and connected.details.get("state") == "on"
    for draft in shown:
        # a maintainer that was on before the oldest reading is not connected anew each time that one goes
        if draft.kind == CareKind.MAINTAINER and draft.details["state"] == "on" and on_already:
            continue
        if draft.kind == CareKind.BATTERY_READING and draft.done_at:
            since = draft.done_at - on if on else timedelta.max
            if since <= timedelta(0):
                continue
            anew = any(on and end and on < end < draft.done_at for end in charged)
            value = draft.readings[0].value
            if not worth_logging(value, None if anew else volts, since.days, battery.system_volts):
                continue
            volts, on = value, draft.done_at
        yield draft
    yield from _tyres(sensor, vehicle, known, now)


def _tyres(sensor: Sensor, vehicle: Vehicle, known: LastValues, now: datetime) -> Iterator[Draft]:
    """The tyres as they stand, a month after they were last written down or where one has lost air since."""
    rows = sensor.readings.filter(quantity="tyre_pressure", at__gte=now - timedelta(days=1))
    newest = {row.position: row for row in rows.order_by("at")}
    before = {position: known.readings.get((Quantity.TYRE_PRESSURE, position)) for position in newest}
    tell = [
        position
        for position, row in newest.items()
        if (old := before[position]) is None
        or row.at - old.on >= TYRES_AGAIN
        or (row.at > old.on and old.value - row.value >= TYRE_FELL_KPA)
    ]
    if tell:
        measured = tuple(Measured(Quantity.TYRE_PRESSURE, newest[p].value, p) for p in tell)
        at = max(newest[position].at for position in tell)
        yield Draft(vehicle, CareKind.TYRE_PRESSURES, at, {"logger": sensor.name}, measured)


def _keep_hours(sensor: Sensor, now: datetime) -> None:
    """Hours of months in place of readings; a reading that comes late joins the hours of its month."""
    day = (now - RAW).astimezone(UTC).replace(hour=0, minute=0, second=0, microsecond=0)
    with transaction.atomic():
        old = list(sensor.readings.filter(at__lt=day))
        for month, rows in groupby(old, lambda row: row.at.astimezone(UTC).strftime("%Y-%m")):
            _add(sensor, month, list(rows), now)
        SensorReading.objects.filter(pk__in=[row.pk for row in old]).delete()
    place = sensor.site or sensor.building
    if place and sensor.by:
        _measure(place, sensor.by, now)


def _add(sensor: Sensor, month: str, rows: Sequence[SensorReading], now: datetime) -> None:
    columns = VOLTS if sensor.vehicle_id else AIR
    hours = air_hours(((row.quantity, row.at, row.value) for row in rows), columns)
    if hours is None:
        return
    file, new = LoggerFile.objects.get_or_create(
        sensor=sensor,
        name=f"{sensor.name}, {month}"[:100],
        defaults={
            "organisation_id": sensor.organisation_id,
            "site_id": sensor.site_id,
            "building_id": sensor.building_id,
            "vehicle_id": sensor.vehicle_id,
            "instrument": sensor.name,
            "digest": "",
            "size": 0,
            "uploaded_at": now,
            "by": sensor.by,
            "state": LoggerState.ACCEPTED,
        },
    )
    before = None if new else hours_of_days(file.days.order_by("day"))
    whole = joined([before, hours]) if before else hours
    file.days.all().delete()
    days = as_days(file, whole)
    LoggerDay.objects.bulk_create(days, batch_size=500)
    file.digest = hashlib.sha256(json.dumps([day.hours for day in days]).encode()).hexdigest()
    first, last = (datetime.fromtimestamp(float(h) * CELL_S, UTC) for h in (whole.hour[0], whole.hour[-1]))
    file.understood = {"first": first.isoformat(), "last": last.isoformat()}
    file.accepted_at = now
    file.save()


def _measure(place: Site | Building, by: Person, now: datetime) -> None:
    """Have the forecast of a place follow its sensors, once a week."""
    where = {type(place).__name__.lower(): place}
    newest = LoggerDay.objects.filter(
        **{f"file__{key}": value for key, value in where.items()}, file__sensor__isnull=False
    ).aggregate(day=Max("day"))["day"]
    measured = MeasuredClimate.objects.filter(**where).first()
    known = date.fromisoformat(measured.facts["last"]) if measured else date.min
    if newest and newest - known >= AIR_AGAIN:
        site = place if isinstance(place, Site) else place.site
        today = now.astimezone(ZoneInfo(site.time_zone)).date()
        measure_again(place=place, edit=Edit(by, now), today=today)
