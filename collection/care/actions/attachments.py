"""Keeping what came with an entry: the bytes under their digest, a row that names them."""

from collections.abc import Sequence

from collection.care.attachments import Attached
from collection.care.queries.attachments import path_of
from collection.host.atomic_files import store
from collection.models import Attachment, CareKind, Entry


def attach(entry: Entry, files: Sequence[Attached]) -> None:
    """Store the files with an entry just made, before it is chained.

    A correction takes over what came with the entry that it corrects: one does not photograph twice.
    The bytes are written first; should the entry then fail, a file without a row does no harm.
    """
    for file in files:
        keep(file.digest, file.data)
    rows = [*_taken_over(entry), *(_row(f.name, f.type, len(f.data), f.digest) for f in files)]
    for number, row in enumerate(rows, 1):
        row.entry, row.number = entry, number
    Attachment.objects.bulk_create(rows)


def _taken_over(entry: Entry) -> list[Attachment]:
    if entry.corrects is None or entry.kind == CareKind.WITHDRAWN:
        return []
    return [_row(old.name, old.type, old.size, old.digest) for old in entry.corrects.attachments.all()]


def _row(name: str, type_: str, size: int, digest: str) -> Attachment:
    return Attachment(name=name, type=type_, size=size, digest=digest)


def keep(digest: str, data: bytes) -> None:
    """Write bytes into the media folder under their digest; anew where they are there, so that a damaged
    or a swept file is made good.
    """
    store(path_of(digest), data)
