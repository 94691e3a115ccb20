"""Files that outlive a kill and a power cut: written whole under another name, then given theirs.

A file goes to the disk through ``store`` before the row that names it is committed.
"""

import os
import secrets
from pathlib import Path

from django.core.files.storage import default_storage

PART = ".part"  # how a file is called until it is whole; one that stays behind is swept


def store(path: str, data: bytes) -> None:
    """Write bytes into the media folder, as ``write_whole`` does."""
    target = Path(default_storage.path(path))
    make_folder(target.parent)
    write_whole(target, data)


def write_whole(target: Path, data: bytes) -> None:
    """Write a file for its owner only; when this returns it is on the disk, all of it.

    Under a name that is there already the new bytes take the place of the old at one stroke. OSError,
    as of a full disk, leaves nothing under the name that was not there before.
    """
    aside = target.with_name(f"{target.name}.{secrets.token_hex(8)}{PART}")
    try:
        with os.fdopen(os.open(aside, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        aside.replace(target)
    except BaseException:
        aside.unlink(missing_ok=True)
        raise
    settle(target.parent)


def make_folder(folder: Path) -> None:
    """The folder and those above it, each known to the one above on the disk."""
    if not folder.is_dir():
        make_folder(folder.parent)
        folder.mkdir(exist_ok=True)
        settle(folder.parent)


def settle(folder: Path) -> None:
    """See the names in a folder onto the disk too."""
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
