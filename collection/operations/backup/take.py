"""Take a backup: rows of one moment first, then the files that they name, then the keys."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import IO, Any

from django.conf import settings
from django.core.files.storage import default_storage
from django.db import connection
from django.db.models import Model

from collection.care.queries.attachments import path_of
from collection.host.installation_key import FILE as SIGNING_KEY
from collection.host.version import VERSION
from collection.operations.backup.archive import CHUNK, Manifest, Writer, new_archive
from collection.operations.backup.rows import as_line, rows_of
from collection.operations.backup.snapshot import counters, snapshot
from collection.operations.backup.tables import applied, fields_of, known, models_at

SECRET_KEY = "secret-key"  # noqa: S105 - a file's name
KEYS = (SIGNING_KEY, SECRET_KEY)
ATTACHMENTS, LINKS = "collection_attachment", "collection_link"


def take(path: Path, *, now: datetime) -> Manifest:
    """Write a backup of the whole installation to ``path``, which must not exist; what its manifest says."""
    if path.exists():
        raise FileExistsError(17, "there is a file of that name", str(path))
    manifest: Manifest = {"version": VERSION, "taken_at": now.isoformat(), "engine": connection.vendor}
    with new_archive(path, manifest) as writer:
        digests = _add_database(writer, manifest)
        manifest["faulty_attachments"] = [each for each in sorted(digests) if not _add_file(writer, each)]
        manifest["keys"] = [name for name in KEYS if _add_key(writer, name)]
    return manifest


def _add_database(writer: Writer, manifest: Manifest) -> set[str]:
    """Add every table as it stood at one moment; the digests of the attachments of that moment."""
    with snapshot():
        manifest["migrations"] = [list(key) for key in applied()]
        models = models_at(known(applied(), "The database"))
        watch = _Watch()
        manifest["tables"] = {model._meta.db_table: _add_table(writer, model, watch) for model in models}
        manifest["counters"] = counters(models)
    manifest["chain_heads"] = watch.heads
    return watch.digests


class _Watch:
    """What is noticed as the rows go by: how far each chain reached, which files are named."""

    def __init__(self) -> None:
        self.heads: dict[str, list[Any]] = {}
        self.digests: set[str] = set()

    def see(self, table: str, row: dict[str, Any]) -> None:
        if table == ATTACHMENTS:
            self.digests.add(row["digest"])
        elif table == LINKS:
            chain = str(row["chain_id"])
            if row["seq"] > self.heads.get(chain, [0])[0]:
                self.heads[chain] = [row["seq"], row["digest"]]


def _add_table(writer: Writer, model: type[Model], watch: _Watch) -> dict[str, Any]:
    table, columns = model._meta.db_table, [field.column for field in fields_of(model)]
    count = 0

    def lines() -> Iterator[bytes]:
        nonlocal count
        for row in rows_of(model):
            count += 1
            if table in (ATTACHMENTS, LINKS):
                watch.see(table, dict(zip(columns, row, strict=True)))
            yield as_line(row)

    writer.add(f"tables/{table}.jsonl", _gathered(lines()))
    return {"columns": columns, "rows": count}


def _gathered(lines: Iterator[bytes]) -> Iterator[bytes]:
    """Lines in pieces of some size: a zip member written line by line takes thrice as long."""
    piece: list[bytes] = []
    size = 0
    for line in lines:
        piece.append(line)
        size += len(line)
        if size >= CHUNK:
            yield b"".join(piece)
            piece, size = [], 0
    yield b"".join(piece)


def _add_file(writer: Writer, digest: str) -> bool:
    """Add an attachment's bytes; whether they are there and still those that came.

    A file never changes under its name and is never taken away, so it may be copied after the moment.
    """
    with _opened(digest) as file:
        if file is None:
            return False
        return writer.add(f"media/{path_of(digest)}", _pieces(file), small=False) == digest


@contextmanager
def _opened(digest: str) -> Iterator[IO[bytes] | None]:
    try:
        file = default_storage.open(path_of(digest))
    except OSError:
        yield None
        return
    with file:
        yield file


def _pieces(file: IO[bytes]) -> Iterator[bytes]:
    while piece := file.read(CHUNK):
        yield piece


def _add_key(writer: Writer, name: str) -> bool:
    path = Path(settings.DATA_DIR) / name
    if not path.exists():
        return False
    writer.add(f"keys/{name}", [path.read_bytes()])
    return True
