"""Taking backups: into the folder that is set, written down, the old nightly ones cleared away."""

import logging
import socket
import time
from datetime import datetime, timedelta
from pathlib import Path

from django.conf import settings
from django.db import DatabaseError, connection

from collection.models import BackupRun
from collection.operations.backup.archive import BackupFault, Manifest, checked
from collection.operations.backup.keep import NIGHTLY, alone, name_for, prune
from collection.operations.backup.take import take

log = logging.getLogger(__name__)

REMEMBERED = timedelta(days=400)  # policy: a year of tries, and a little


def back_up(kind: str, *, now: datetime, path: Path | None = None) -> tuple[Path, Manifest]:
    """Take one backup and read it back; written down however it went. OSError or BackupFault if it failed."""
    began = time.monotonic()
    target = path or Path(settings.BACKUP_DIR) / name_for(kind, now)
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        take(target, now=now)
        manifest = checked(target)
    except (OSError, BackupFault) as error:
        if isinstance(error, OSError) and not error.filename:
            error.filename = str(target.parent)
        _write_down(kind, now, began, error=told(error))
        raise
    _write_down(kind, now, began, path=target)
    return target, manifest


def nightly_backup(*, now: datetime) -> bool:
    """Take the night's backup, then clear away what has served; False where another process is at it."""
    folder = Path(settings.BACKUP_DIR)
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    with alone(folder) as may:
        if not may:
            return False
        path, _ = back_up(NIGHTLY, now=now)
        gone = prune(folder)
        log.info("backed up to %s; %s older ones deleted", path.name, len(gone))
        return True


def told(error: OSError | BackupFault) -> str:
    """What went wrong, in words."""
    if isinstance(error, BackupFault):
        return str(error)
    return f"{error.strerror or error}: {error.filename}. No backup was made, and no half of one is left."


def _write_down(kind: str, now: datetime, began: float, *, path: Path | None = None, error: str = "") -> None:
    """Remember the try if there is a table for it (not in an older version) and room (not on a full disk)."""
    try:
        _remember(kind, now, began, path=path, error=error)
    except DatabaseError:
        log.exception("the backup could not be written down")


def _remember(kind: str, now: datetime, began: float, *, path: Path | None, error: str) -> None:
    if BackupRun._meta.db_table not in connection.introspection.table_names():
        return
    BackupRun.objects.filter(started_at__lt=now - REMEMBERED).delete()
    BackupRun.objects.create(
        kind=kind,
        started_at=now,
        seconds=time.monotonic() - began,
        host=socket.gethostname(),
        file=str(path.resolve()) if path else "",
        size=path.stat().st_size if path else 0,
        error=error[:500],
    )
