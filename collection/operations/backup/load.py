"""Fill an empty installation from a checked backup, bring it to this version, and look at all of it."""

import hashlib
import os
import re
import zipfile
from pathlib import Path

from django.conf import settings
from django.core.management import call_command
from django.db import connection, transaction
from django.db.models import Model

from collection.host.statistics import count_rows_anew
from collection.operations.backup.archive import BackupFault, Manifest, checked, chunks_of
from collection.operations.backup.rows import lines_in, store
from collection.operations.backup.snapshot import set_counters
from collection.operations.backup.tables import Key, bring_to, known, models_at
from collection.operations.backup.take import KEYS

TABLE = re.compile(r"tables/\w+\.jsonl")
ATTACHMENT = re.compile(r"media/attachments/([0-9a-f]{2})/\1[0-9a-f]{62}")
KEY_FILES = [re.compile(re.escape(f"keys/{name}")) for name in KEYS]


def loadable(manifest: Manifest) -> set[Key]:
    """The form of its tables; BackupFault unless this version knows it and all that it names is ours."""
    for name in manifest["members"]:
        if not any(pattern.fullmatch(name) for pattern in (TABLE, ATTACHMENT, *KEY_FILES)):
            raise BackupFault(f"The backup names a file outside its folder, or no file of ours: {name!r}.")
    return known([(app, name) for app, name in manifest["migrations"]], "The backup")


def load(path: Path, *, with_files: bool) -> Manifest:
    """Bring back keys and rows, and files if asked; nothing before every byte of the backup was checked."""
    manifest = checked(path)
    state = loadable(manifest)
    if connection.introspection.table_names():
        raise BackupFault("The database to restore into is not empty.")
    with zipfile.ZipFile(path) as zipped:
        for name in manifest["members"]:
            where, _, rest = name.partition("/")
            if where == "keys":
                _write(Path(settings.DATA_DIR) / rest, zipped, name)
            elif where == "media" and with_files:
                _write_attachment(Path(settings.MEDIA_ROOT) / rest, zipped, name)
        bring_to(state)
        _fill(zipped, manifest, models_at(state))
    call_command("migrate", interactive=False, verbosity=0)
    count_rows_anew()
    return manifest


def _write_attachment(path: Path, zipped: zipfile.ZipFile, name: str) -> None:
    """Bytes that were damaged when the backup was taken are left out: they are not what the name says."""
    path.parent.mkdir(parents=True, exist_ok=True)
    if _write(path, zipped, name) != path.name:
        path.unlink()


def _write(path: Path, zipped: zipfile.ZipFile, name: str) -> str:
    """Write a member into the stage, for its owner only; its digest."""
    digest = hashlib.sha256()
    with os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "wb") as file:
        for chunk in chunks_of(zipped, name):
            digest.update(chunk)
            file.write(chunk)
        file.flush()
        os.fsync(file.fileno())
    return digest.hexdigest()


@transaction.atomic
def _fill(zipped: zipfile.ZipFile, manifest: Manifest, models: list[type[Model]]) -> None:
    """All rows or none; references are checked when the last row stands."""
    _empty(models)
    for model in models:
        table = model._meta.db_table
        stated = manifest["tables"].get(table)
        if stated is None:
            raise BackupFault(f"The backup has no table {table}, though it is of a version that had one.")
        count = store(model, stated["columns"], lines_in(chunks_of(zipped, f"tables/{table}.jsonl")))
        if count != stated["rows"]:
            raise BackupFault(f"{table}: {count} rows came back, not {stated['rows']}.")
    set_counters(models, manifest["counters"])


def _empty(models: list[type[Model]]) -> None:
    """Remove what the migrations themselves wrote: the backup has it."""
    with connection.cursor() as cursor:
        for model in models:
            cursor.execute(f"DELETE FROM {connection.ops.quote_name(model._meta.db_table)}")  # noqa: S608 - our own names
