"""Put what was built into the place of the installation; what stood there is kept beside it."""

import hashlib
import os
import shutil
import sqlite3
from contextlib import closing, suppress
from datetime import datetime
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import CommandError
from django.db import DatabaseError, connection, transaction

from collection.operations.backup.stage import Stage
from collection.operations.backup.take import SECRET_KEY

IN_USE = (
    "The database is in use: stop the site first (serve, and every worker), then restore again. "
    "Nothing was changed."
)
SIDE_FILES = ("-wal", "-shm")


def is_empty() -> bool:
    """Whether there is no installation here yet."""
    file = Path(settings.DATABASES["default"]["NAME"])
    if connection.vendor == "sqlite" and (not file.exists() or not file.stat().st_size):
        return True
    try:
        return not connection.introspection.table_names()
    except DatabaseError:
        if connection.vendor == "sqlite":
            return False  # damaged, and so not nothing
        raise


def refuse_if_in_use() -> None:
    """CommandError while anybody else has the database open."""
    if connection.vendor == "sqlite":
        connection.close()
        with suppress(sqlite3.DatabaseError):  # damaged: perhaps the reason for the restore
            _alone(Path(settings.DATABASES["default"]["NAME"]))
        return
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT count(*) FROM pg_stat_activity WHERE datname = current_database()"
            " AND usename = current_user AND backend_type = 'client backend' AND pid <> pg_backend_pid()"
        )
        (others,) = cursor.fetchone()
    if others:
        raise CommandError(IN_USE)


def _alone(file: Path) -> None:
    """Fold the write-ahead log into the file: SQLite does so for the only connection and for no other."""
    if not file.exists():
        return
    with closing(sqlite3.connect(file, timeout=2)) as database:
        try:
            database.execute("PRAGMA journal_mode=DELETE").fetchall()
        except sqlite3.OperationalError as error:
            if "lock" in str(error) or "busy" in str(error):
                raise CommandError(IN_USE) from error
            raise


def put_in_place(stage: Stage, keys: list[str], *, was_empty: bool, now: datetime) -> list[str]:
    """Files, the backup's keys, then the database in one step; where the old ones are kept now."""
    stamp = f"{now:%Y%m%d%H%M%S}"
    _move_media(stage)
    kept = _change_keys(stage, keys, stamp, was_empty=was_empty)
    swap = _swap_files if connection.vendor == "sqlite" else _swap_schemas
    try:
        database = swap(stage, stamp, was_empty=was_empty)
    except BaseException:
        for old, aside in kept.items():
            os.replace(aside, old)
        raise
    return [*map(str, kept.values()), *database]


def _move_media(stage: Stage) -> None:
    """Attachments are named by their content: one that is here already and right stays."""
    source, target = stage.folder / "media", Path(settings.MEDIA_ROOT)
    for file in source.rglob("*"):
        if file.is_file():
            there = target / file.relative_to(source)
            if not (there.exists() and _is_right(there)):
                there.parent.mkdir(parents=True, exist_ok=True)
                shutil.move(file, there)


def _is_right(file: Path) -> bool:
    with file.open("rb") as bytes_:
        return hashlib.file_digest(bytes_, "sha256").hexdigest() == file.name


def _change_keys(stage: Stage, keys: list[str], stamp: str, *, was_empty: bool) -> dict[Path, Path]:
    """Bring the keys of the backup in; where each that was another is kept."""
    kept = {}
    for name in keys:
        old, new = Path(settings.DATA_DIR) / name, stage.folder / name
        just_made = was_empty and name == SECRET_KEY  # every start makes one, this command's too
        if old.exists() and not just_made and old.read_bytes() != new.read_bytes():
            kept[old] = old.with_name(f"{name}.before-restore-{stamp}")
            shutil.copy2(old, kept[old])
        os.replace(new, old)
    return kept


def _swap_files(stage: Stage, stamp: str, *, was_empty: bool) -> list[str]:
    new, real = Path(stage.database), Path(settings.DATABASES["default"]["NAME"])
    connection.close()
    _alone(new)
    if not was_empty:
        with suppress(sqlite3.DatabaseError):
            _alone(real)
    kept = real.with_name(f"{real.name}.before-restore-{stamp}")
    if was_empty:
        real.unlink(missing_ok=True)
    else:
        os.link(real, kept)
    for ending in SIDE_FILES:  # left only beside a damaged database
        with suppress(FileNotFoundError):
            os.replace(f"{real}{ending}", f"{kept}{ending}")
    os.replace(new, real)
    return [] if was_empty else [str(kept)]


def _swap_schemas(stage: Stage, stamp: str, *, was_empty: bool) -> list[str]:
    """Rename in one transaction: whoever looks sees the old installation or the new one."""
    aside = f"longstand_before_restore_{stamp}"
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("SET LOCAL lock_timeout = '10s'")
        cursor.execute("SELECT current_schema()")
        (here,) = cursor.fetchone()
        ours = {*_names(cursor, TABLES, stage.database)}
        if not was_empty:
            cursor.execute(f"CREATE SCHEMA {aside}")
            there = _names(cursor, TABLES, here)
            old = [name for name in there if name in ours or name.startswith("collection_")]
            _move(cursor, old, here, aside)
        _move(cursor, sorted(ours), stage.database, here)
    return [] if was_empty else [f"the schema {aside}"]


TABLES = (
    "SELECT quote_ident(relname) FROM pg_class JOIN pg_namespace n ON n.oid = relnamespace"
    " WHERE relkind IN ('r', 'p') AND nspname = %s ORDER BY 1"
)
FUNCTIONS = (
    "SELECT quote_ident(proname) || '(' || pg_get_function_identity_arguments(p.oid) || ')'"
    " FROM pg_proc p JOIN pg_namespace n ON n.oid = pronamespace"
    r" WHERE proname LIKE 'collection\_%%' AND nspname = %s ORDER BY 1"
)


def _names(cursor: Any, query: str, schema: str) -> list[str]:
    cursor.execute(query, [schema])
    return [name for (name,) in cursor.fetchall()]


def _move(cursor: Any, tables: list[str], source: str, target: str) -> None:
    for name in tables:
        cursor.execute(f"ALTER TABLE {source}.{name} SET SCHEMA {target}")
    for name in _names(cursor, FUNCTIONS, source):
        cursor.execute(f"ALTER FUNCTION {source}.{name} SET SCHEMA {target}")
