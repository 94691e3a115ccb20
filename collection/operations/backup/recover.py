"""What becomes of a restore that was broken off: finished once the database was swapped, else undone."""

import os
import shutil
from dataclasses import dataclass, field
from pathlib import Path

from django.conf import settings

from collection.host.atomic_files import settle
from collection.operations.backup import journal as journals
from collection.operations.backup.archive import BackupFault
from collection.operations.backup.engine import engine
from collection.operations.backup.journal import Journal
from collection.operations.backup.stage import RESTORING, Stage, clear
from collection.operations.backup.take import SECRET_KEY


@dataclass(frozen=True)
class Recovered:
    """How it ended."""

    finished: bool
    kept: list[str] = field(default_factory=list)


def recover() -> Recovered | None:
    """End what was broken off; None where nothing was. Hold PREPARING; safe to be broken off itself."""
    journals.sweep()
    journal = journals.read()
    if journal is None:
        clear(RESTORING)
        return None
    if journal.database != journals.this_database():
        name = journal.database[0]
        raise BackupFault(
            f"A restore into the database {name} was broken off: let LONGSTAND_DATABASE name that one, run "
            "manage.py doctor, which ends it, then go on here."
        )
    if engine().is_swapped(journal):
        return Recovered(True, finish(journal))
    _undo(journal)
    return Recovered(False)


def finish(journal: Journal) -> list[str]:
    """The new installation stands: clear away; where what was there before is kept."""
    for name in journal.had:
        path = Path(settings.DATA_DIR) / name
        old = journal.kept(path)
        # every start makes a secret key where there is none, the restore's own too
        just_made = journal.was_empty and name == SECRET_KEY
        if old.exists() and (just_made or old.read_bytes() == path.read_bytes()):
            old.unlink()
    journals.remove()
    Stage(journal.stage).remove()
    keys = [journal.kept(Path(settings.DATA_DIR) / name) for name in journal.had]
    files = [path for path in (*keys, journal.kept_media) if path.exists()]
    return [*map(str, files), *engine().kept(journal)]


def _undo(journal: Journal) -> None:
    """The old installation stands: its keys come back. Files known by content that came stay: they harm
    nothing, somebody else may have sent the same since, and those that no entry names are swept.
    """
    for name in journal.keys:
        path = Path(settings.DATA_DIR) / name
        if journal.kept(path).exists():
            os.replace(journal.kept(path), path)
            journal.kept(path).unlink(missing_ok=True)  # two names of one file are not replaced
        elif name not in journal.had:
            path.unlink(missing_ok=True)
    settle(Path(settings.DATA_DIR))
    engine().undo(journal)
    shutil.rmtree(journal.kept_media, ignore_errors=True)
    journals.remove()  # before the stage: on SQLite, a database that is no longer there tells of a swap
    Stage(journal.stage).remove()
