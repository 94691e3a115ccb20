"""The database of an installation on SQLite: whether it is there, in use, and how another takes its place."""

import os
import sqlite3
from contextlib import closing, suppress
from pathlib import Path

from django.db import DatabaseError, connection

from collection.host.atomic_files import settle
from collection.operations.backup.in_use import InUse
from collection.operations.backup.journal import Journal
from collection.operations.backup.keeping import keep_beside
from collection.operations.backup.stage import Stage, database_file

SIDE_FILES = ("-wal", "-shm")


def is_empty() -> bool:
    """Whether there is no installation here yet."""
    file = database_file()
    if not file.exists() or not file.stat().st_size:
        return True
    try:
        return not connection.introspection.table_names()
    except DatabaseError:
        return False  # damaged, and so not nothing


def refuse_if_in_use() -> None:
    """InUse while anybody else has the database open."""
    connection.close()
    with suppress(sqlite3.DatabaseError):  # damaged: perhaps the reason for the restore
        _alone(database_file())


def _alone(file: Path) -> None:
    """Fold the write-ahead log into the file: SQLite does so for the only connection and for no other."""
    if not file.exists():
        return
    with closing(sqlite3.connect(file, timeout=2)) as database:
        try:
            database.execute("PRAGMA journal_mode=DELETE").fetchall()
        except sqlite3.OperationalError as error:
            if "lock" in str(error) or "busy" in str(error):
                raise InUse from error
            raise


def swap(journal: Journal) -> None:
    """Keep the old file under another name, and give its name to the new one at one stroke."""
    new, real = Stage(journal.stage).file, database_file()
    _alone(new)
    refuse_if_in_use()
    if not journal.was_empty:
        keep_beside(real, journal.kept(real))
    for ending in SIDE_FILES:  # left only beside a damaged database; beside the new one they would spoil it
        with suppress(FileNotFoundError):
            os.replace(f"{real}{ending}", f"{journal.kept(real)}{ending}")
    settle(real.parent)
    os.replace(new, real)
    settle(real.parent)


def is_swapped(journal: Journal) -> bool:
    """Whether the new one has taken its place."""
    return not Stage(journal.stage).file.exists()


def undo(journal: Journal) -> None:
    """Before the swap: what lay beside the database lies there again, and is kept no more."""
    real = database_file()
    for ending in SIDE_FILES:
        aside = Path(f"{journal.kept(real)}{ending}")
        if aside.exists():
            os.replace(aside, f"{real}{ending}")
    if real.exists():  # the second name, then, is one too many
        for part in real.parent.glob(f"{journal.kept(real).name}*"):
            part.unlink()
    settle(real.parent)


def kept(journal: Journal) -> list[str]:
    """Where the old one is now."""
    aside = journal.kept(database_file())
    return [str(aside)] if aside.exists() else []
