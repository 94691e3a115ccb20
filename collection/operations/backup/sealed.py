"""Backups encrypted to a public key, in the age format: who has no private key cannot read them.

The format is that of https://age-encryption.org/v1; any program that knows it opens them.
"""

import hashlib
import os
import secrets
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from django.conf import settings
from pyrage import DecryptError, EncryptError, IdentityError, decrypt_io, encrypt_io
from pyrage.x25519 import Identity, Recipient

from collection.operations.backup.archive import UNFINISHED, BackupFault, appearing, sweep

ENDING = ".age"
BEGINNINGS = (b"age-encryption.org/v1\n", b"-----BEGIN AGE ENCRYPTED FILE-----")


def is_sealed(path: Path) -> bool:
    """Whether the file is encrypted."""
    try:
        with path.open("rb") as file:
            return file.read(64).startswith(BEGINNINGS)
    except OSError as error:
        raise BackupFault(f"{path} cannot be read: {error.strerror}.") from error


def digest_of(path: Path) -> str:
    """The SHA-256 of a file, in hexadecimal digits."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def seal(plain: Path, target: Path) -> None:
    """Encrypt a file to the keys that are set, and read it back; BackupFault if that gives something else.

    To read it back without the private key there is one more recipient, whose key is forgotten at once.
    """
    once = Identity.generate()
    recipients = [*map(Recipient.from_str, settings.BACKUP_RECIPIENTS), once.to_public()]
    with appearing(target) as file, plain.open("rb") as source:
        wanted = hashlib.file_digest(source, "sha256").digest()
        source.seek(0)
        try:
            encrypt_io(source, file, recipients)
        except EncryptError as error:
            raise BackupFault(f"The backup could not be encrypted into {target.parent}: {error}.") from error
        file.seek(0)
        digest = _Digest()
        decrypt_io(file, digest, [once])
        if digest.digest() != wanted:
            raise BackupFault(f"{target} was encrypted, and is not the same when read back. Take another.")
        file.seek(0, os.SEEK_END)


class _Digest:
    """Takes bytes as a file does and keeps their digest."""

    def __init__(self) -> None:
        self.sha256 = hashlib.sha256()
        self.digest = self.sha256.digest

    def write(self, data: bytes) -> int:
        self.sha256.update(data)
        return len(data)

    def flush(self) -> None:
        """There is nothing to hold back."""


@contextmanager
def opened(path: Path, identity: Path | None) -> Iterator[Path]:
    """The file itself, or what it holds where it is encrypted: in the data folder, gone afterwards."""
    if not is_sealed(path):
        yield path
        return
    if identity is None:
        raise BackupFault(f"{path} is encrypted: name the file of the private key with --identity.")
    keys = _identities(identity)
    with private_file() as plain:
        with path.open("rb") as sealed, plain.open("wb") as file:
            try:
                decrypt_io(sealed, file, keys)
            except DecryptError as error:
                raise BackupFault(f"{path} is not encrypted to the key in {identity}.") from error
            except OSError as error:
                why = error.strerror or "it is damaged or cut off"
                raise BackupFault(f"{path} cannot be decrypted: {why}.") from error
        yield plain


@contextmanager
def private_file() -> Iterator[Path]:
    """An empty file in the data folder for its owner only; what a kill leaves of it is swept after a day."""
    sweep(Path(settings.DATA_DIR))
    path = Path(settings.DATA_DIR) / f".longstand-{secrets.token_hex(4)}{UNFINISHED}"
    os.close(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600))
    try:
        yield path
    finally:
        path.unlink(missing_ok=True)


def _identities(file: Path) -> list[Identity]:
    """The private keys in a file as age-keygen writes it: one a line, remarks after #."""
    try:
        lines = [line.strip() for line in file.read_text().splitlines()]
        keys = [Identity.from_str(line) for line in lines if line and not line.startswith("#")]
    except OSError as error:
        raise BackupFault(f"--identity {file} cannot be read: {error.strerror}.") from error
    except (IdentityError, ValueError) as error:
        raise BackupFault(f"--identity {file} holds no private key: it begins AGE-SECRET-KEY-1.") from error
    if not keys:
        raise BackupFault(f"--identity {file} is empty: a private key begins AGE-SECRET-KEY-1.")
    return keys


def new_identity(file: Path) -> str:
    """Write a new private key into a file that is not there yet; its public key."""
    key = Identity.generate()
    public = str(key.to_public())
    with os.fdopen(os.open(file, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w") as written:
        written.write(f"# public key: {public}\n{key}\n")
        written.flush()
        os.fsync(written.fileno())
    return public
