"""Build a backup in its stage and look at all of it, in a process whose whole installation is the stage."""

import os
import shutil
import subprocess
import sys
import tempfile
import threading
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from django.conf import settings
from django.db import DatabaseError, connection
from django.utils import timezone

from collection.models import Attachment
from collection.operations.backup.archive import BackupFault, Manifest
from collection.operations.backup.load import load
from collection.operations.backup.stage import REHEARSING, Stage
from collection.operations.backup.take import SECRET_KEY
from collection.operations.backup.wording import FAULT, FAULTS_FOUND, contents, lacks, proved, upgraded
from collection.proof.check_all import faulty_attachments, prove

Say = Callable[[str], None]


@dataclass(frozen=True)
class Built:
    """What stands in the stage now."""

    sound: bool
    faults: list[str]


def build(stage: Stage, backup: Path, *, purpose: str, say: Say) -> Built:
    """Load the backup into the stage, pass on what is said of it; BackupFault if it cannot be loaded."""
    here = Path(settings.DATA_DIR) / SECRET_KEY
    if here.exists():  # what an upgrade seals must open here, where the backup brings no secret of its own
        shutil.copy2(here, stage.folder / SECRET_KEY)
    command = [sys.executable, "-W", "ignore", str(settings.BASE_DIR / "manage.py"), "restore"]
    lines = []
    with tempfile.TemporaryFile("w+") as complaints:
        with subprocess.Popen(  # noqa: S603 - our own command line, no shell
            [*command, str(backup.resolve()), "--stage", purpose],
            env=os.environ | stage.environment,
            cwd=settings.BASE_DIR,
            stdin=subprocess.PIPE,  # open as long as we live
            stdout=subprocess.PIPE,
            stderr=complaints,
            text=True,
        ) as child:
            for line in child.stdout or ():
                lines.append(line.rstrip("\n"))
                say(lines[-1])
        complaints.seek(0)
        complaint = (complaints.read().strip().splitlines() or [f"it ended with {child.returncode}"])[-1]
    if child.returncode not in (0, FAULTS_FOUND):
        raise BackupFault(f"The backup could not be loaded: {complaint.removeprefix('CommandError: ')}")
    return Built(child.returncode == 0, [line for line in lines if line.startswith(FAULT)])


def build_here(backup: Path, *, purpose: str, say: Say) -> bool:
    """The part that runs with the stage as its installation; whether all was found sound."""
    _end_with_parent()
    rehearsed = purpose == REHEARSING
    try:
        manifest = load(backup, with_files=not rehearsed)
    except DatabaseError as error:
        raise BackupFault(f"{connection.vendor} refused what the backup holds: {error}") from error
    faulty = _faulty_in(manifest) if rehearsed else faulty_attachments()
    proof = prove(timezone.now())
    for line in (
        contents(manifest),
        *upgraded(manifest),
        *lacks(manifest),
        *proved(proof.cars, proof.faults, Attachment.objects.count(), [_named(row) for row in faulty]),
    ):
        say(line)
    return proof.sound and not faulty


def _faulty_in(manifest: Manifest) -> list[Attachment]:
    """Attachments that the backup has not, or not as they came; every byte of it was just read."""
    digests = {member["sha256"] for name, member in manifest["members"].items() if name.startswith("media/")}
    rows = Attachment.objects.select_related("entry__vehicle").order_by("digest", "pk")
    return [row for row in rows.iterator() if row.digest not in digests]


def _named(row: Attachment) -> str:
    return f"{FAULT} (attachment). {row.entry.vehicle}: {row.name} ({row.digest}) is missing or damaged."


def _end_with_parent() -> None:
    """Nobody else clears the stage away, so nobody may go on filling it: our input ends with our parent."""

    def wait() -> None:
        os.read(sys.stdin.fileno(), 1)
        os._exit(1)

    threading.Thread(target=wait, daemon=True).start()
