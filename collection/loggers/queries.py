"""Reading what loggers left: files of places and cars, days of a file."""

from datetime import datetime, timedelta

from django.core.files.storage import default_storage
from django.db.models import Prefetch, QuerySet

from collection.models import Building, Entry, LoggerDay, LoggerFile, LoggerState, Site, Vehicle
from collection.models.care import effective
from collection.permissions import Access
from collection.web.sorting import Sorting

RELATED = ("site", "building__site", "vehicle__bay__building__site", "by")
KEPT_DAYS = 7  # policy: a file that nobody accepts within a week is forgotten
KEY = "logger-{}-"  # how the idempotency keys of a file's entries begin


def raw_of(file: LoggerFile) -> bytes | None:
    """The bytes as they came; None once they are gone."""
    if not file.raw:
        return None
    try:
        with default_storage.open(file.raw) as stored:
            data: bytes = stored.read()
    except OSError:
        return None
    return data


def days_of(file: LoggerFile) -> QuerySet[LoggerDay]:
    """The thinned days, in order."""
    return file.days.order_by("day")


def entries_of(file: LoggerFile) -> QuerySet[Entry]:
    """The entries that a car's file gave and that still stand, oldest first."""
    entries = Entry.objects.filter(
        vehicle=file.vehicle_id,
        idempotency_key__startswith=KEY.format(file.pk),
        details__has_key="file_sha256",
    )
    return effective(entries).order_by("done_at", "recorded_at")


def sites_with_loggers(access: Access, order: Sorting) -> QuerySet[Site]:
    """Sites with their files and buildings, these with theirs, and the climates made of them."""
    files = order.rows(LoggerFile.objects.select_related("by"))
    return (
        access.sites()
        .select_related("climate", "measured__climate")
        .prefetch_related(
            Prefetch("logger_files", files),
            Prefetch("buildings__logger_files", files),
            "buildings__measured__climate",
        )
    )


def same_file(place: Site | Building | Vehicle, digest: str) -> LoggerFile | None:
    """The same file, if it is here already."""
    file: LoggerFile | None = place.logger_files.filter(digest=digest).first()
    return file


def left_lying(now: datetime) -> QuerySet[LoggerFile]:
    """Files that nobody accepted in time."""
    old = LoggerFile.objects.exclude(state=LoggerState.ACCEPTED)
    return old.filter(uploaded_at__lt=now - timedelta(days=KEPT_DAYS))


def waiting(pk: int) -> LoggerFile | None:
    """A file that is still to be read."""
    unread = (LoggerState.WAITING, LoggerState.READING)
    return LoggerFile.objects.filter(pk=pk, state__in=unread).select_related(*RELATED).first()
