"""The installation itself: backups, the queue, the schema, the newest moment that it has recorded."""

import sqlite3
from datetime import UTC, datetime, timedelta
from functools import lru_cache

from django.db import connection
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.recorder import MigrationRecorder
from django.db.models import Max
from django_q.models import Failure, OrmQ

from collection.models import Anchor, BackupRun, Entry, ForecastRun

Key = tuple[str, str]


@lru_cache(maxsize=1)
def _shipped() -> frozenset[Key]:
    """Every migration that this version brings; read from the disk once a process."""
    return frozenset(MigrationLoader(None).graph.nodes)


def pending_migrations() -> list[Key]:
    """What this version would change in the database and has not yet."""
    return sorted(_shipped() - set(MigrationRecorder(connection).applied_migrations()))


def newest_migration() -> str:
    """The last of our own that this database has gone through."""
    mine = [name for app, name in MigrationRecorder(connection).applied_migrations() if app == "collection"]
    return max(mine, default="none")


def has_schema() -> bool:
    """Whether the database holds an installation at all."""
    return MigrationRecorder(connection).has_table()


def engine() -> str:
    """The database and its version, as one would say it."""
    if connection.vendor == "sqlite":
        return f"SQLite {sqlite3.sqlite_version}"
    with connection.cursor() as cursor:
        cursor.execute("SHOW server_version")
        (version,) = cursor.fetchone()
    return f"PostgreSQL {version}"


def last_backup() -> BackupRun | None:
    """The latest that succeeded."""
    return BackupRun.objects.filter(error="").first()


def last_rehearsal() -> BackupRun | None:
    """The latest backup that was rehearsed, or could not be."""
    return BackupRun.objects.exclude(rehearsed_at=None, rehearsal="").first()


def failed_since(run: BackupRun | None) -> BackupRun | None:
    """The latest try, if it failed after the latest that succeeded."""
    latest = BackupRun.objects.first()
    return latest if latest and latest.error and latest != run else None


def nightly_backup_is_due(now: datetime, hour: int, nightly: str) -> bool:
    """Whether no nightly backup succeeded since the hour (UTC) last came round."""
    here = now.astimezone(UTC)
    mark = here.replace(hour=hour, minute=0, second=0, microsecond=0)
    if mark > here:
        mark -= timedelta(days=1)
    return not BackupRun.objects.filter(kind=nightly, error="", started_at__gte=mark).exists()


def oldest_waiting() -> datetime | None:
    """Since when the longest waiting job is free to be taken; None when none waits."""
    job = OrmQ.objects.order_by("lock").first()
    return job.lock if job else None


def failed_jobs(since: datetime) -> dict[str, int]:
    """How often each job failed."""
    counted: dict[str, int] = {}
    for func in Failure.objects.filter(stopped__gte=since).values_list("func", flat=True):
        counted[func] = counted.get(func, 0) + 1
    return counted


def newest_moment() -> datetime | None:
    """The newest moment that the installation itself wrote down: the clock was there once."""
    moments = (
        Entry.objects.aggregate(at=Max("recorded_at"))["at"],
        Anchor.objects.aggregate(at=Max("at"))["at"],
        ForecastRun.objects.aggregate(at=Max("started_at"))["at"],
    )
    return max((each for each in moments if each), default=None)
