"""Fill an empty installation from a checked backup, bring it to this version, and look at all of it."""

import os
import zipfile
from pathlib import Path

from django.conf import settings
from django.core.management import call_command
from django.db import connection, transaction
from django.db.models import Model

from collection.operations.backup.archive import BackupFault, Manifest, checked, chunks_of
from collection.operations.backup.rows import lines_in, store
from collection.operations.backup.snapshot import set_counters
from collection.operations.backup.tables import bring_to, known, models_at


def load(path: Path) -> Manifest:
    """Bring back keys, files and rows; nothing is touched before every byte of the backup was checked."""
    manifest = checked(path)
    state = known([(app, name) for app, name in manifest["migrations"]], "The backup")
    if connection.introspection.table_names():
        raise BackupFault("The database to restore into is not empty.")
    with zipfile.ZipFile(path) as zipped:
        for name in manifest["members"]:
            if name.startswith(("keys/", "media/")):
                _bring_back(zipped, name)
        bring_to(state)
        _fill(zipped, manifest, models_at(state))
    call_command("migrate", interactive=False, verbosity=0)
    return manifest


def _bring_back(zipped: zipfile.ZipFile, name: str) -> None:
    """Write a key or an attachment to its place in the data folder, for its owner only."""
    where, _, rest = name.partition("/")
    folder = Path(settings.DATA_DIR if where == "keys" else settings.MEDIA_ROOT).resolve()
    path = (folder / rest).resolve()
    if not path.is_relative_to(folder):
        raise BackupFault(f"The backup names a file outside its folder: {name}.")
    path.parent.mkdir(parents=True, exist_ok=True)
    with os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "wb") as file:
        for chunk in chunks_of(zipped, name):
            file.write(chunk)
        file.flush()
        os.fsync(file.fileno())


@transaction.atomic
def _fill(zipped: zipfile.ZipFile, manifest: Manifest, models: list[type[Model]]) -> None:
    """All rows or none; references are checked when the last row stands."""
    _empty(models)
    for model in models:
        table = model._meta.db_table
        said = manifest["tables"].get(table)
        if said is None:
            raise BackupFault(f"The backup has no table {table}, though it is of a version that had one.")
        count = store(model, said["columns"], lines_in(chunks_of(zipped, f"spreadsheets/{table}.jsonl")))
        if count != said["rows"]:
            raise BackupFault(f"{table}: {count} rows came back, not {said['rows']}.")
    set_counters(models, manifest["counters"])


def _empty(models: list[type[Model]]) -> None:
    """Remove what the migrations themselves wrote: the backup has it."""
    with connection.cursor() as cursor:
        for model in models:
            cursor.execute(f"DELETE FROM {connection.ops.quote_name(model._meta.db_table)}")  # noqa: S608 - our own names
