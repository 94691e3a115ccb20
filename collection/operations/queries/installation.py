"""How the installation stands, for the page of those who manage it: no path, no address, no key."""

import shutil
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from django.conf import settings

from collection.host import jobs
from collection.host.version import VERSION
from collection.life import queries as runs
from collection.models import BackupRun
from collection.operations.queries import operations as query

LEAST_FREE_SHARE = 0.05  # policy: of the disk; below it somebody should look
LEAST_FREE_BYTES = 1_000_000_000  # policy: whatever the size of the disk
BACKUP_OVERDUE = timedelta(hours=50)  # policy: two nights missed
CLOCK_MAY_BE_BEHIND = timedelta(minutes=5)  # policy: several hosts never agree to the second
LONGEST_WAIT = timedelta(minutes=30)  # policy: a job that waits longer waits for a worker that is not there


@dataclass(frozen=True)
class Disk:
    """Room where the data lies."""

    free: int
    total: int

    @property
    def low(self) -> bool:
        """Whether it will soon be full."""
        return self.free < max(LEAST_FREE_BYTES, LEAST_FREE_SHARE * self.total)


@dataclass(frozen=True)
class State:
    """Everything that the page shows."""

    version: str
    engine: str
    migration: str
    pending: int
    heartbeat: datetime | None
    alive: bool
    waiting: int | None  # None: the queue does not answer
    waits_since: datetime | None
    failed: int
    backup: BackupRun | None
    backup_failed: BackupRun | None
    rehearsed: BackupRun | None
    backup_overdue: bool
    disk: Disk
    behind: timedelta | None
    web_processes: int


def state(now: datetime) -> State:
    """Look at all of it; ``now`` also tells whether the clock can be right."""
    backup, waits = query.last_backup(), query.oldest_waiting()
    return State(
        version=VERSION,
        engine=query.engine(),
        migration=query.newest_migration(),
        pending=len(query.pending_migrations()),
        heartbeat=runs.last_heartbeat(),
        alive=runs.worker_is_alive(now),
        waiting=jobs.waiting(),
        waits_since=waits if waits and now - waits > LONGEST_WAIT else None,
        failed=sum(query.failed_jobs(now - timedelta(days=7)).values()),
        backup=backup,
        backup_failed=query.failed_since(backup),
        rehearsed=query.last_rehearsal(),
        backup_overdue=backup is None or now - backup.started_at > BACKUP_OVERDUE,
        disk=disk(Path(settings.DATA_DIR)),
        behind=clock_behind(now),
        web_processes=settings.WEB_PROCESSES,
    )


def disk(folder: Path) -> Disk:
    """Room on the disk that holds the folder."""
    usage = shutil.disk_usage(folder)
    return Disk(usage.free, usage.total)


def clock_behind(now: datetime) -> timedelta | None:
    """By how much the clock is behind what was already written down; None when it is not."""
    newest = query.newest_moment()
    late = newest - now if newest else timedelta()
    return late if late > CLOCK_MAY_BE_BEHIND else None
