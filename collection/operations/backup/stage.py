"""Where a backup is built before it takes anybody's place: folders and a database of its own.

Each lies beside the real one, on the same disk, so that it can take its name without being copied.
"""

import os
import re
import secrets
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import quote

from django.conf import settings
from django.db import connection

from collection.operations.backup import journal

RESTORING, REHEARSING = "restoring", "rehearsing"


def database_file() -> Path:
    """The SQLite file of this installation."""
    return Path(settings.DATABASES["default"]["NAME"]).resolve()


@dataclass(frozen=True)
class Stage:
    """A data folder, a media folder and a database that nobody else uses; all found by one name."""

    name: str

    @property
    def folder(self) -> Path:
        """The data folder: the keys of the backup."""
        return Path(settings.DATA_DIR) / f".{self.name}"

    @property
    def media(self) -> Path:
        """The attachments."""
        return Path(settings.MEDIA_ROOT) / f".{self.name}"

    @property
    def file(self) -> Path:
        """The database on SQLite."""
        return database_file().with_name(f".{database_file().name}.{self.name}")

    @property
    def schema(self) -> str:
        """The database on PostgreSQL."""
        return f"longstand_{self.name.replace('-', '_')}"

    @property
    def environment(self) -> dict[str, str]:
        """What makes the stage the whole installation of a process."""
        if connection.vendor == "sqlite":
            address = f"sqlite:///{quote(str(self.file))}"
        else:
            database = os.environ["LONGSTAND_DATABASE"].strip()
            address = f"{database}{'&' if '?' in database else '?'}currentSchema={self.schema}"
        return {
            "LONGSTAND_DATA": str(self.folder),
            "LONGSTAND_MEDIA": str(self.media),
            "LONGSTAND_DATABASE": address,
        }

    def make(self) -> None:
        """Empty folders for their owner only, and an empty database."""
        self.folder.mkdir(mode=0o700)
        self.media.mkdir(mode=0o700)
        if connection.vendor == "sqlite":
            self.file.parent.mkdir(parents=True, exist_ok=True)
            return
        with connection.cursor() as cursor:
            cursor.execute(f"CREATE SCHEMA {self.schema}")

    def remove(self) -> None:
        """Whatever is there of it."""
        if connection.vendor == "sqlite":
            for part in self.file.parent.glob(f"{self.file.name}*"):
                part.unlink(missing_ok=True)
        else:
            with connection.cursor() as cursor:
                cursor.execute(f"DROP SCHEMA IF EXISTS {self.schema} CASCADE")
        shutil.rmtree(self.media, ignore_errors=True)
        shutil.rmtree(self.folder, ignore_errors=True)


@contextmanager
def new_stage(purpose: str) -> Iterator[Stage]:
    """A stage that is gone afterwards, unless a journal still needs it. Hold the claim of the purpose."""
    clear(purpose)
    stage = Stage(f"{purpose}-{secrets.token_hex(4)}")
    try:
        stage.make()
        yield stage
    finally:
        begun = journal.read()
        if begun is None or begun.stage != stage.name:
            connection.close()  # whatever befell it, the next statement finds a new one
            stage.remove()


def clear(purpose: str) -> None:
    """Remove stages that the dead left; whoever holds the claim of their purpose knows that none is alive."""
    for name in _left(purpose):
        Stage(name).remove()


def _left(purpose: str) -> set[str]:
    """The names of stages that are there, by any part of them."""
    beside = database_file()
    places = {".": (settings.DATA_DIR, settings.MEDIA_ROOT), f".{beside.name}.": (beside.parent,)}
    names = [
        path.name.removeprefix(prefix)
        for prefix, folders in places.items()
        for folder in folders
        for path in Path(folder).glob(f"{prefix}*")
    ]
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute(r"SELECT nspname FROM pg_namespace WHERE nspname LIKE 'longstand\_%%'")
            names += [name.removeprefix("longstand_").replace("_", "-") for (name,) in cursor.fetchall()]
    name = re.compile(rf"{purpose}-[0-9a-f]{{8}}")
    return {match[0] for each in names if (match := name.match(each))}
