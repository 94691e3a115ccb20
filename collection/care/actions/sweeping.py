"""Sweeps what a kill left in the media folder: halves of files, and files whose entry was never stored."""

import time
from collections.abc import Iterator
from pathlib import Path

from django.core.files.storage import default_storage

from collection.host.atomic_files import PART
from collection.models import Attachment, Handover

FOLDERS = (("attachments", Attachment), ("handovers", Handover))
AGE_S = 7 * 24 * 3600  # policy: far longer than any entry takes to be stored
ASIDE = ".swept"  # how a file is called between being found unnamed and being deleted


def sweep(now_s: float | None = None) -> int:
    """Delete old files that no row names; returns how many. Safe beside entries being stored.

    A file is first put aside under another name: should somebody have written it anew meanwhile, or
    a row name it after all, it is put back.
    """
    before = (time.time() if now_s is None else now_s) - AGE_S
    swept = 0
    for folder, rows in FOLDERS:
        top = Path(default_storage.path(folder))
        for path in list(_old(top, before)) if top.is_dir() else ():
            swept += _take(path, before, rows)
    return swept


def _old(top: Path, before: float) -> Iterator[Path]:
    for path in top.rglob("*"):
        if path.is_file() and path.stat().st_mtime < before:
            yield path


def _take(path: Path, before: float, rows: type[Attachment] | type[Handover]) -> bool:
    """Whether this one is gone now."""
    if path.suffix == PART:
        path.unlink(missing_ok=True)
        return True
    own = path.with_name(path.name.removesuffix(ASIDE))
    named = rows.objects.filter(digest=own.name.partition(".")[0])
    if named.exists():
        if path != own:  # a sweep was killed between the two
            path.replace(own)
        return False
    aside = path.replace(own.with_name(own.name + ASIDE))
    if aside.stat().st_mtime >= before or named.exists():
        if not own.exists():
            aside.replace(own)
        return False
    aside.unlink()
    return True
