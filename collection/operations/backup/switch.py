"""Let what was built take the place of the installation: step by step, with one stroke that decides.

Until the database is swapped everything can be undone, and nothing that the old installation needs is gone;
afterwards everything that the new one needs is there. A journal tells the next start which it is to do.
"""

import hashlib
import os
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

from django.conf import settings

from collection.host.atomic_files import make_folder, settle
from collection.operations.backup import journal as journals
from collection.operations.backup.archive import Manifest
from collection.operations.backup.engine import engine
from collection.operations.backup.journal import Journal
from collection.operations.backup.keeping import keep_beside
from collection.operations.backup.recover import finish
from collection.operations.backup.stage import Stage
from collection.operations.backup.take import KEYS

MARKS = (".", "before-restore-")  # how the names of folders begin that hold no files of the installation


def switch(stage: Stage, manifest: Manifest, *, was_empty: bool, now: datetime) -> list[str]:
    """Take every step; where what was there before is kept. Broken off, the journal stays."""
    brought = [name for name in KEYS if f"keys/{name}" in manifest["members"]]
    journal = Journal(
        stage=stage.name,
        stamp=f"{now:%Y%m%d%H%M%S}",
        database=journals.this_database(),
        was_empty=was_empty,
        keys=brought,
        had=[name for name in brought if _key(name).exists()],
    )
    for step in STEPS:
        step(journal)
    return finish(journal)


def write_journal(journal: Journal) -> None:
    """From here on the next start knows of it."""
    journals.write(journal)


def keep_files(journal: Journal) -> None:
    """Files that the backup has not, or has better, get a second name: they are swept here one day."""
    new = Stage(journal.stage).media
    for file in files_of_installation(Path(settings.MEDIA_ROOT)):
        name = file.relative_to(settings.MEDIA_ROOT)
        if not ((new / name).exists() and is_known_by_content(file)):
            second = journal.kept_media / name
            make_folder(second.parent)
            keep_beside(file, second)
            settle(second.parent)


def place_files(journal: Journal) -> None:
    """Attachments of the backup that are not here yet; never over one that is here and right."""
    new, folders = Stage(journal.stage).media, set()
    for file in list(_files(new)):
        name = file.relative_to(new)
        place = Path(settings.MEDIA_ROOT) / name
        if not place.exists() or (journal.kept_media / name).exists():
            make_folder(place.parent)
            os.replace(file, place)
            folders.add(place.parent)
    for folder in folders:
        settle(folder)


def keep_keys(journal: Journal) -> None:
    """The keys that were here get a second name."""
    for name in journal.had:
        keep_beside(_key(name), journal.kept(_key(name)))
    settle(Path(settings.DATA_DIR))


def change_keys(journal: Journal) -> None:
    """Bring the keys of the backup in."""
    for name in journal.keys:
        os.replace(Stage(journal.stage).folder / name, _key(name))
    settle(Path(settings.DATA_DIR))


def swap_database(journal: Journal) -> None:
    """The stroke that decides."""
    engine().swap(journal)


STEPS = (write_journal, keep_files, place_files, keep_keys, change_keys, swap_database)


def files_of_installation(media: Path) -> Iterator[Path]:
    """Every file in the media folder that is not of a restore."""
    for folder in media.iterdir():
        if folder.is_dir() and not folder.name.startswith(MARKS):
            yield from _files(folder)


def _files(folder: Path) -> Iterator[Path]:
    return (path for path in folder.rglob("*") if path.is_file())


def is_known_by_content(file: Path) -> bool:
    """Whether the bytes are those that the name stands for."""
    with file.open("rb") as bytes_:
        return hashlib.file_digest(bytes_, "sha256").hexdigest() == file.name


def _key(name: str) -> Path:
    return Path(settings.DATA_DIR) / name
