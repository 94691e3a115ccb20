"""A logger's file comes in, is read, read otherwise, or thrown away again."""

import hashlib
import logging
import re
import uuid
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import partial
from pathlib import PurePath

from django.core.exceptions import ValidationError
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.db import IntegrityError, transaction
from django.db.models import QuerySet

from collection.care.queries.care import zone_of
from collection.host.contained import Busy
from collection.host.jobs import leave
from collection.host.refusal import Refused
from collection.life import queries as runs
from collection.life.core.kept_hours import as_days
from collection.life.core.rows import current_battery
from collection.loggers.core.apart import understand_apart
from collection.loggers.core.stream import Battery, battery_of
from collection.loggers.core.understood import Understood
from collection.loggers.queries import left_lying, raw_of, same_file
from collection.loggers.reading.faults import UnreadableFile
from collection.loggers.reading.layout import Layout
from collection.loggers.reading.lines import MOST_BYTES
from collection.models import (
    Building,
    LoggerDay,
    LoggerFile,
    LoggerState,
    Organisation,
    Person,
    Site,
    Vehicle,
)

log = logging.getLogger(__name__)

FOLDER = "loggers"  # in the media folder
A_DAY = timedelta(days=1)
READ = "collection.tasks.read_logger_file"
AT_ONCE_BYTES = 6_000_000  # policy: about half a second; larger files are left to the worker
GONE = "The file itself is kept no longer: upload it again to have it read otherwise."
OTHERS = "Waiting until other files are read"
Place = Site | Building | Vehicle


@dataclass(frozen=True)
class Taken:
    """The file, and whether it is new here."""

    file: LoggerFile
    new: bool


def take_file(
    *, place: Place, name: str, data: bytes, by: Person, now: datetime, instrument: str = ""
) -> Taken:
    """Store an uploaded file and have it read: now if it is small, else by the worker.

    The same file at the same place is not taken twice. ValidationError says why one is refused.
    """
    if len(data) > MOST_BYTES:
        raise ValidationError(
            {"file": f"The file is larger than {MOST_BYTES // 1_000_000} MB: send it in parts."}
        )
    digest = hashlib.sha256(data).hexdigest()
    if known := same_file(place, digest):
        return Taken(known, new=False)
    raw = default_storage.save(f"{FOLDER}/{uuid.uuid4().hex}", ContentFile(data))
    where = {type(place).__name__.lower(): place}
    try:
        with transaction.atomic():
            file = LoggerFile.objects.create(
                organisation=_organisation_of(place),
                name=_plain(name),
                digest=digest,
                size=len(data),
                raw=raw,
                uploaded_at=now,
                by=by,
                instrument=instrument.strip(),
                **where,
            )
    except IntegrityError:  # somebody sent the same file between our look and our write
        default_storage.delete(raw)
        known = same_file(place, digest)
        if known is None:
            raise
        return Taken(known, new=False)
    _have_read(file, now)
    return Taken(file, new=True)


def _organisation_of(place: Place) -> Organisation:
    return place.site.organisation if isinstance(place, Building) else place.organisation


def _plain(name: str) -> str:
    """The name without folders and without what is not to be seen."""
    return re.sub(r"[^\w .()+-]", "", PurePath(name.replace("\\", "/")).name)[-100:].strip() or "file"


def _have_read(file: LoggerFile, now: datetime) -> None:
    """Read it now, or leave it to the worker if it is large and there is one."""
    if file.size > AT_ONCE_BYTES and runs.worker_is_alive(now):
        transaction.on_commit(partial(leave, READ, file.pk))
    else:
        read_file(file, now=now)


def read_otherwise(*, file: LoggerFile, layout: Layout, now: datetime) -> None:
    """Read a file by another layout; ValidationError where its bytes are gone."""
    if file.state == LoggerState.ACCEPTED:
        raise ValidationError("This file is accepted: withdraw it first.")
    if not file.raw or not default_storage.exists(file.raw):
        raise ValidationError(GONE)
    file.layout, file.state = layout.as_json(), LoggerState.WAITING
    if not _open(file).update(layout=file.layout, state=file.state, progress="", fault=""):
        raise ValidationError("Somebody accepted or threw away this file meanwhile.")
    _have_read(file, now)


def _open(file: LoggerFile) -> QuerySet[LoggerFile]:
    """The file's row, if it is there still and nothing rests on it."""
    return LoggerFile.objects.filter(pk=file.pk).exclude(state=LoggerState.ACCEPTED)


def read_again(*, file: LoggerFile, now: datetime) -> None:
    """Read a file that waits in vain or could not be read, here and now."""
    if file.state != LoggerState.ACCEPTED:
        read_file(file, now=now)


def read_file(file: LoggerFile, *, now: datetime) -> None:
    """Read a stored file, by its layout if it has one; what is wrong with it is written at the file.

    Safe to run twice: the days are replaced in one transaction, an accepted file is left alone.
    """

    if file.state == LoggerState.ACCEPTED:
        return
    try:
        understood = _understood(file, now)
    except Busy:
        _later(file, now)
    except Refused as fault:
        _failed(file, str(fault))
    except Exception:
        log.exception("logger file %s cannot be read", file.pk)
        _failed(file, "The file is written in a way that could not be read: export it as CSV again.")
    else:
        _store(file, understood)


def _understood(file: LoggerFile, now: datetime) -> Understood:
    def tell(words: str) -> None:
        _open(file).update(state=LoggerState.READING, progress=words)

    data = raw_of(file)
    if data is None:
        raise UnreadableFile(GONE)
    layout = Layout.from_json(file.layout) if file.layout else None
    return understand_apart(
        data,
        layout=layout,
        zone=_zone_of(file),
        battery=car_battery(file.vehicle) if file.vehicle else None,
        now=now,
        tell=tell,
    )


def _later(file: LoggerFile, now: datetime) -> None:
    """It waits for the worker; without one its page offers to read it."""
    _open(file).update(state=LoggerState.WAITING, progress=OTHERS)
    if runs.worker_is_alive(now):
        transaction.on_commit(partial(leave, READ, file.pk))


def _failed(file: LoggerFile, words: str) -> None:
    file.state, file.fault, file.progress, file.understood = LoggerState.FAILED, words[:500], "", {}
    with transaction.atomic():
        if _open(file).update(state=file.state, fault=file.fault, progress="", understood={}):
            file.days.all().delete()


@transaction.atomic
def _store(file: LoggerFile, understood: Understood) -> None:
    if not _open(file).select_for_update().exists():
        return  # thrown away or accepted while it was read
    file.days.all().delete()
    LoggerDay.objects.bulk_create(as_days(file, understood.hours), batch_size=500)
    file.state, file.progress, file.fault = LoggerState.READ, "", ""
    file.layout, file.understood = understood.layout.as_json(), understood.facts
    file.save()


def _zone_of(file: LoggerFile) -> str:
    place = file.place
    if isinstance(place, Vehicle):
        return str(zone_of(place))
    return place.time_zone if isinstance(place, Site) else place.site.time_zone


def car_battery(vehicle: Vehicle) -> Battery:
    """What must be known of the battery in a car to read its volts."""
    battery = current_battery(vehicle)
    volts = battery.volts if battery and battery.volts else vehicle.system_volts
    return battery_of(volts, battery.chemistry if battery else "")


def drop_raw(file: LoggerFile) -> None:
    """Delete the bytes as they came; the digest and the hours stay. The row is the caller's to save."""
    if file.raw:
        default_storage.delete(file.raw)
        file.raw = ""


def throw_away(*, file: LoggerFile) -> None:
    """Forget a file that was not accepted."""
    if file.state == LoggerState.ACCEPTED:
        raise ValidationError("This file is accepted: withdraw it first.")
    raw = file.raw
    with transaction.atomic():
        file.delete()
    if raw:
        default_storage.delete(raw)


def forget_old_files(*, now: datetime) -> int:
    """Forget what nobody accepted in time, and bytes that belong to no file any more; returns how many."""
    old = list(left_lying(now))
    for file in old:
        throw_away(file=file)
    return len(old) + _sweep(now)


def _sweep(now: datetime) -> int:
    """Delete bytes that were left behind, as when the machine stopped between row and file."""
    if not default_storage.exists(FOLDER):
        return 0
    paths = [f"{FOLDER}/{name}" for name in default_storage.listdir(FOLDER)[1]]
    known = set(LoggerFile.objects.exclude(raw="").values_list("raw", flat=True))
    stray = [p for p in paths if p not in known and now - default_storage.get_modified_time(p) > A_DAY]
    for path in stray:
        default_storage.delete(path)
    return len(stray)
