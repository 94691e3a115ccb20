"""Where a restore is built before it takes anybody's place: a folder and a database of its own."""

import os
import secrets
import shutil
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import quote

from django.conf import settings
from django.db import connection

from collection.operations.backup.archive import BackupFault
from collection.operations.backup.take import SECRET_KEY
from collection.operations.backup.wording import FAULTS_FOUND

PREFIX = "restoring"


@dataclass(frozen=True)
class Stage:
    """A data folder beside the files of the real one, and a database that nobody else uses."""

    folder: Path
    database: str  # the path of an SQLite file, or the name of a PostgreSQL schema

    @property
    def address(self) -> str:
        """The database as LONGSTAND_DATABASE names it."""
        if connection.vendor == "sqlite":
            return f"sqlite:///{quote(self.database)}"
        given = os.environ["LONGSTAND_DATABASE"].strip()
        return f"{given}{'&' if '?' in given else '?'}currentSchema={self.database}"


@contextmanager
def new_stage() -> Iterator[Stage]:
    """A stage that is gone afterwards; what an interrupted restore left is removed first."""
    data = Path(settings.DATA_DIR)
    for left in data.glob(f".{PREFIX}-*"):
        shutil.rmtree(left, ignore_errors=True)
    folder = data / f".{PREFIX}-{secrets.token_hex(4)}"
    folder.mkdir(mode=0o700)
    try:
        with _file_database() if connection.vendor == "sqlite" else _schema() as database:
            yield Stage(folder, database)
    finally:
        shutil.rmtree(folder, ignore_errors=True)


@contextmanager
def _file_database() -> Iterator[str]:
    """Beside the real database, so that it can take its name without being copied."""
    real = Path(settings.DATABASES["default"]["NAME"])
    real.parent.mkdir(parents=True, exist_ok=True)
    _unlink(real, f".{real.name}.{PREFIX}-*")
    name = f".{real.name}.{PREFIX}-{secrets.token_hex(4)}"
    try:
        yield str(real.with_name(name))
    finally:
        _unlink(real, f"{name}*")


def _unlink(beside: Path, pattern: str) -> None:
    for left in beside.parent.glob(pattern):
        left.unlink(missing_ok=True)


@contextmanager
def _schema() -> Iterator[str]:
    name = f"longstand_{PREFIX}_{secrets.token_hex(4)}"
    with connection.cursor() as cursor:
        cursor.execute("SELECT nspname FROM pg_namespace WHERE nspname LIKE %s", [rf"longstand\_{PREFIX}\_%"])
        for (left,) in cursor.fetchall():
            cursor.execute(f"DROP SCHEMA {left} CASCADE")
        cursor.execute(f"CREATE SCHEMA {name}")
    try:
        yield name
    finally:
        connection.close()
        with connection.cursor() as cursor:
            cursor.execute(f"DROP SCHEMA IF EXISTS {name} CASCADE")


def build(stage: Stage, backup: Path) -> bool:
    """Load the backup into the stage in a process of its own; whether all of it was found sound."""
    here = Path(settings.DATA_DIR) / SECRET_KEY
    if here.exists():  # what an upgrade seals must open here, where the backup brings no secret of its own
        shutil.copy2(here, stage.folder / SECRET_KEY)
    done = subprocess.run(  # noqa: S603 - our own command line, no shell
        [sys.executable, str(settings.BASE_DIR / "manage.py"), "restore", str(backup.resolve()), "--stage"],
        env=os.environ | {"LONGSTAND_DATA": str(stage.folder), "LONGSTAND_DATABASE": stage.address},
        cwd=settings.BASE_DIR,
        check=False,
    )
    if done.returncode not in (0, FAULTS_FOUND):
        raise BackupFault("The backup could not be loaded, and nothing was changed. The reason stands above.")
    return done.returncode == 0
