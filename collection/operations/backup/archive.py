"""The file: a zip whose last 64 bytes are the SHA-256 of all that stands before them.

Its last member, ``manifest.json``, names every other member with size and digest. It is written under
another name and gets its own only when it lies whole on the disk.
"""

import hashlib
import json
import os
import secrets
import time
import zipfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import IO, Any

from collection.host.atomic_files import settle

FORM = "longstand backup 1"
MANIFEST = "manifest.json"
UNFINISHED = ".unfinished"
STALE_SECONDS = 24 * 3600  # policy: what is unfinished for a day will not be finished
DIGEST_BYTES = 64  # SHA-256 in hexadecimal digits
CHUNK = 1 << 20
EARLIEST = (1980, 1, 1, 0, 0, 0)  # a zip knows no earlier day; members carry no time of their own

Manifest = dict[str, Any]


class BackupFault(Exception):
    """A file that is no whole backup; the message names what is wrong and what to do."""


class Writer:
    """Adds members one after the other and keeps what the manifest says of each."""

    def __init__(self, zipped: zipfile.ZipFile) -> None:
        self.zip = zipped
        self.members: dict[str, dict[str, Any]] = {}

    def add(self, name: str, chunks: Iterable[bytes], *, small: bool = True) -> str:
        """Write one member, made smaller unless it is small already; its digest."""
        info = zipfile.ZipInfo(name, EARLIEST)
        info.compress_type = zipfile.ZIP_DEFLATED if small else zipfile.ZIP_STORED
        info.external_attr = 0o600 << 16
        digest, size = hashlib.sha256(), 0
        with self.zip.open(info, "w", force_zip64=True) as member:
            for chunk in chunks:
                digest.update(chunk)
                size += len(chunk)
                member.write(chunk)
        self.members[name] = {"bytes": size, "sha256": digest.hexdigest()}
        return digest.hexdigest()


@contextmanager
def appearing(path: Path) -> Iterator[IO[bytes]]:
    """A file for its owner only that gets its name when it is whole on the disk, or never."""
    sweep(path.parent)
    aside = path.with_name(f".{path.name}.{secrets.token_hex(4)}{UNFINISHED}")
    try:
        with os.fdopen(os.open(aside, os.O_RDWR | os.O_CREAT | os.O_EXCL, 0o600), "w+b") as file:
            yield file
            file.flush()
            os.fsync(file.fileno())
        aside.rename(path)
        with suppress(OSError):  # where the system cannot do that for a folder
            settle(path.parent)
    except BaseException:
        with suppress(OSError):
            aside.unlink(missing_ok=True)
        raise


@contextmanager
def new_archive(path: Path, manifest: Manifest) -> Iterator[Writer]:
    """A backup at ``path``, whole or not at all; fill ``manifest`` before leaving."""
    with appearing(path) as file:
        with zipfile.ZipFile(file, "w", compresslevel=6) as zipped:
            writer = Writer(zipped)
            yield writer
            stated = {"form": FORM, **manifest, "members": writer.members}
            writer.add(MANIFEST, [json.dumps(stated, indent=1).encode()])
            zipped.comment = b"0" * DIGEST_BYTES
        _seal(file)


def _seal(file: IO[bytes]) -> None:
    """Write the digest of everything into the place kept for it."""
    file.flush()
    length = file.seek(0, os.SEEK_END) - DIGEST_BYTES
    digest = _digest_of(file, length)
    file.seek(length)
    file.write(digest.encode())


def _digest_of(file: IO[bytes], length: int) -> str:
    file.seek(0)
    digest = hashlib.sha256()
    while length:
        chunk = file.read(min(CHUNK, length))
        if not chunk:
            break
        digest.update(chunk)
        length -= len(chunk)
    return digest.hexdigest()


def sweep(folder: Path) -> None:
    """Remove what a killed backup, or a look into an encrypted one, left behind long ago."""
    for left in folder.glob(f".*longstand-*{UNFINISHED}"):
        with suppress(OSError):
            if time.time() - left.stat().st_mtime > STALE_SECONDS:
                left.unlink()


def checked(path: Path) -> Manifest:
    """Read every byte; the manifest of a whole backup, else BackupFault that names what is damaged."""
    try:
        with path.open("rb") as file:
            length = file.seek(0, os.SEEK_END) - DIGEST_BYTES
            sealed = length > 0 and _digest_of(file, length).encode() == file.read(DIGEST_BYTES)
            manifest = _members_checked(file, path)
    except OSError as error:
        raise BackupFault(f"{path} cannot be read: {error.strerror}.") from error
    if not sealed:
        raise BackupFault(
            f"{path} is damaged or cut off: its members are whole, the rest is not. Take another backup."
        )
    return manifest


def _members_checked(file: IO[bytes], path: Path) -> Manifest:
    try:
        with zipfile.ZipFile(file) as zipped:
            manifest = _manifest(zipped, path)
            named = set(manifest["members"])
            if strange := named ^ (set(zipped.namelist()) - {MANIFEST}):
                raise BackupFault(f"{path} is damaged: {min(strange)} is not there, or not listed.")
            for name, member in manifest["members"].items():
                _member_checked(zipped, name, member, path)
            return manifest
    except (zipfile.BadZipFile, NotImplementedError, EOFError) as error:
        raise BackupFault(f"{path} is no whole backup: it is cut off, or no backup at all.") from error


def _manifest(zipped: zipfile.ZipFile, path: Path) -> Manifest:
    try:
        manifest: Manifest = json.loads(zipped.read(MANIFEST))
        form = manifest["form"]
        manifest["members"].items()
    except Exception as error:  # whatever the damage does to the reader, there is no manifest
        raise BackupFault(f"{path}: its {MANIFEST} is missing or damaged. Take another backup.") from error
    if form != FORM:
        raise BackupFault(f"{path} is a {form!r}: this version reads {FORM!r}.")
    return manifest


def _member_checked(zipped: zipfile.ZipFile, name: str, member: dict[str, Any], path: Path) -> None:
    digest, size = hashlib.sha256(), 0
    try:
        for chunk in chunks_of(zipped, name):
            digest.update(chunk)
            size += len(chunk)
    except Exception as error:  # damage shows itself in as many ways as there are readers
        raise BackupFault(f"{path} is damaged: {name} cannot be read. Take another backup.") from error
    if (size, digest.hexdigest()) != (member["bytes"], member["sha256"]):
        raise BackupFault(f"{path} is damaged: {name} is not what was backed up. Take another backup.")


def chunks_of(zipped: zipfile.ZipFile, name: str) -> Iterator[bytes]:
    """A member's bytes, piece by piece."""
    with zipped.open(name) as member:
        while chunk := member.read(CHUNK):
            yield chunk
