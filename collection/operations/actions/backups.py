"""Taking backups: into the folder that is set, written down, the old nightly ones cleared away."""

import logging
import socket
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime, timedelta
from pathlib import Path

from django.conf import settings
from django.db import DatabaseError, connection

from collection.models import BackupRun
from collection.operations.backup.archive import BackupFault, Manifest, checked
from collection.operations.backup.keep import NIGHTLY, alone, name_for, prune
from collection.operations.backup.rehearse import NoRehearsal, rehearse
from collection.operations.backup.sealed import digest_of, private_file, seal
from collection.operations.backup.take import take
from collection.operations.backup.wording import reason

Clock = Callable[[], datetime]

log = logging.getLogger(__name__)

REMEMBERED = timedelta(days=400)  # policy: a year of tries, and a little


def back_up(kind: str, *, now: datetime, path: Path | None = None) -> tuple[Path, Manifest]:
    """Take one backup and read it back; written down however it went. OSError or BackupFault if it failed."""
    target = path or Path(settings.BACKUP_DIR) / name_for(kind, now)
    with _plain(target) as plain:
        manifest, _ = _back_up(kind, target, plain, now=now)
    return target, manifest


def nightly_backup(*, clock: Clock) -> bool:
    """Take the night's backup, rehearse it, then clear away what has served; False where another process is
    at it. Nothing is cleared away on the night of a backup that cannot be restored.
    """
    folder = Path(settings.BACKUP_DIR)
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    with alone(folder) as may:
        if not may:
            return False
        now = clock()
        target = folder / name_for(NIGHTLY, now)
        with _plain(target) as plain:
            _, run = _back_up(NIGHTLY, target, plain, now=now)
            restorable = _rehearse(run, plain, clock)
        gone = prune(folder) if restorable else []
        log.info("backed up to %s; %s older ones deleted", target.name, len(gone))
        return True


@contextmanager
def _plain(target: Path) -> Iterator[Path]:
    """Where the backup is written as it can be read: its own place, or the data folder if it is encrypted."""
    if not settings.BACKUP_RECIPIENTS:
        yield target
        return
    with private_file() as plain:
        plain.unlink()  # it appears when it is whole
        yield plain


def _back_up(kind: str, target: Path, plain: Path, *, now: datetime) -> tuple[Manifest, BackupRun | None]:
    began = time.monotonic()
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        if target.exists():
            raise FileExistsError(17, "there is a file of that name", str(target))
        take(plain, now=now)
        manifest = checked(plain)
        if plain != target:
            seal(plain, target)
    except (OSError, BackupFault) as error:
        if isinstance(error, OSError) and not error.filename:
            error.filename = str(target.parent)
        _write_down(kind, now, began, error=reason_of(error))
        raise
    return manifest, _write_down(kind, now, began, path=target)


def _rehearse(run: BackupRun | None, plain: Path, clock: Clock) -> bool:
    """Whether it can be restored, as far as that could be seen; what came of it is kept beside the run."""
    held, restorable = True, True
    try:
        faults = "; ".join(rehearse(plain, log.info).faults)
    except NoRehearsal as error:
        held, faults = False, str(error)
    except (BackupFault, OSError, DatabaseError) as error:
        restorable, faults = False, reason(error)
    if faults:
        log.warning("the rehearsal of the backup: %s", faults)
    if run:
        run.rehearsed_at = clock() if held else None
        run.rehearsal = faults[: BackupRun._meta.get_field("rehearsal").max_length]
        run.save(update_fields=["rehearsed_at", "rehearsal"])
    return restorable


def reason_of(error: OSError | BackupFault) -> str:
    """What went wrong, in words."""
    if isinstance(error, BackupFault):
        return str(error)
    return f"{error.strerror or error}: {error.filename}. No backup was made, and no half of one is left."


def _write_down(
    kind: str, now: datetime, began: float, *, path: Path | None = None, error: str = ""
) -> BackupRun | None:
    """Remember the try if there is a table for it as we know it (not before an upgrade) and room (not on a
    full disk).
    """
    try:
        return _remember(kind, now, began, path=path, error=error)
    except DatabaseError:
        log.exception("the backup could not be written down")
        return None


def _remember(kind: str, now: datetime, began: float, *, path: Path | None, error: str) -> BackupRun | None:
    if not _table_is_ours():
        return None
    BackupRun.objects.filter(started_at__lt=now - REMEMBERED).delete()
    return BackupRun.objects.create(
        kind=kind,
        started_at=now,
        seconds=time.monotonic() - began,
        host=socket.gethostname(),
        file=str(path.resolve()) if path else "",
        size=path.stat().st_size if path else 0,
        sha256=digest_of(path) if path else "",
        error=error[:500],
    )


def _table_is_ours() -> bool:
    """Whether the table has every column of this version."""
    table = BackupRun._meta.db_table
    if table not in connection.introspection.table_names():
        return False
    with connection.cursor() as cursor:
        there = {column.name for column in connection.introspection.get_table_description(cursor, table)}
    return {field.column for field in BackupRun._meta.concrete_fields} <= there
