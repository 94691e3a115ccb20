"""Files: folders that can be written, keys for their owner only, attachments, room on the disk."""

import tempfile
from collections.abc import Iterator
from pathlib import Path

from django.conf import settings
from django.core.exceptions import ImproperlyConfigured
from django.core.files.storage import default_storage
from django.db import DatabaseError

from collection.care.queries.attachments import path_of
from collection.chain.signing import public_key
from collection.host.installation_key import FILE, installation_key
from collection.host.locks import PREPARING, Busy, holding
from collection.models import Anchor, Attachment
from collection.operations.backup import journal
from collection.operations.backup.archive import BackupFault
from collection.operations.backup.recover import recover
from collection.operations.backup.wording import recovered
from collection.operations.doctor.finding import Finding, Look, odd
from collection.operations.queries.installation import disk
from collection.proof.check_all import faulty_attachments

SHOWN = 5  # of many alike, as many are named
GROUP_AND_OTHERS = 0o077


def folders(_look: Look) -> Iterator[Finding]:
    """Data, photographs and backups can be written."""
    for name, folder in (
        ("LONGSTAND_DATA", settings.DATA_DIR),
        ("the folder media in LONGSTAND_DATA", settings.MEDIA_ROOT),
        ("LONGSTAND_BACKUPS", settings.BACKUP_DIR),
    ):
        try:
            Path(folder).mkdir(parents=True, exist_ok=True)
            tempfile.TemporaryFile(dir=folder).close()
        except OSError as error:
            yield Finding(
                f"{folder} ({name}) cannot be written: {error.strerror}.",
                "Make it, give it to whoever runs the site, or name another.",
            )


def keys(_look: Look) -> Iterator[Finding]:
    """The keys are there and nobody else can read them."""
    for name in (FILE, "secret-key"):
        path = Path(settings.DATA_DIR) / name
        if path.exists() and path.stat().st_mode & GROUP_AND_OTHERS:
            yield Finding(f"{path} can be read by others on this machine.", f"Run: chmod 600 {path}")


def private(_look: Look) -> Iterator[Finding]:
    """Nobody else on this machine reads the record, its photographs or its backups."""
    for folder in {Path(settings.DATA_DIR), Path(settings.MEDIA_ROOT), Path(settings.BACKUP_DIR)}:
        if folder.exists() and folder.stat().st_mode & GROUP_AND_OTHERS and any(_open_to_others(folder)):
            yield Finding(
                f"Files in {folder} can be read by others on this machine.",
                f"Run: chmod -R go= {folder}  (an earlier version made them so; this one does not).",
            )


def _open_to_others(folder: Path) -> Iterator[Path]:
    return (path for path in folder.iterdir() if path.stat().st_mode & GROUP_AND_OTHERS)


def restore(_look: Look) -> Iterator[Finding]:
    """No restore was broken off; one that was is finished or undone here and now."""
    try:
        with holding(PREPARING, wait=False):
            ended = recover()
    except Busy:
        yield odd("The site is starting, or a restore is going on.", "Look again when it is done.")
    except BackupFault as fault:
        yield Finding(str(fault), "See the message.")
    except DatabaseError as error:
        if journal.read():
            yield Finding(
                f"A restore was broken off and cannot be ended: {str(error).splitlines()[0]}",
                "See what is said of the database; then run this again.",
            )
    else:
        if ended:
            yield odd(recovered(ended), "Nothing is left to do; start the site with manage.py serve.")


def signing(_look: Look) -> Iterator[Finding]:
    """The key signs, and is the one that signed last."""
    path = Path(settings.DATA_DIR) / FILE
    last = Anchor.objects.order_by("at").last()
    mend = "Put back its copy: it is in every backup."
    if not path.exists():
        if last:
            yield Finding(f"{path} is gone: new statements would be signed by another key.", mend)
        return
    try:
        key = public_key(installation_key())
    except (ImproperlyConfigured, OSError) as error:
        yield Finding(f"The signing key cannot be read: {error}", mend)
        return
    if last and last.statement["key"] != key:
        yield Finding(f"The last statement was signed by another key than {path}.", mend)


def attachments(look: Look) -> Iterator[Finding]:
    """Photographs and documents lie where they should; looked into, they are those that came."""
    lost = [row.digest for row in faulty_attachments()] if look.deep else list(_not_there())
    if lost:
        named = ", ".join(lost[:SHOWN]) + (" …" if len(lost) > SHOWN else "")
        yield Finding(
            f"{len(lost)} attachments are missing or damaged: {named}.",
            f"Take them from a backup: they lie in it under media/, and belong into {settings.MEDIA_ROOT}.",
        )


def _not_there() -> Iterator[str]:
    for digest, size in Attachment.objects.values_list("digest", "size").distinct().iterator():
        try:
            there = default_storage.size(path_of(digest)) == size
        except OSError:
            there = False
        if not there:
            yield digest


def room(_look: Look) -> Iterator[Finding]:
    """The disks have room."""
    for folder in {Path(settings.DATA_DIR), Path(settings.BACKUP_DIR)}:
        if folder.exists() and (space := disk(folder)).low:
            yield Finding(
                f"The disk of {folder} is nearly full: {space.free / 1e9:.1f} GB are free.",
                "Make room, or move LONGSTAND_DATA or LONGSTAND_BACKUPS to a larger disk.",
            )
