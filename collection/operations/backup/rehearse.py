"""Prove a backup: every byte, row, chain, statement and attachment, built aside and taken away again."""

import shutil
from pathlib import Path

from django.conf import settings

from collection.host.locks import REHEARSING, Busy, holding
from collection.operations.backup.archive import Manifest, checked
from collection.operations.backup.build import Built, Say, build
from collection.operations.backup.load import loadable
from collection.operations.backup.stage import REHEARSING as PURPOSE
from collection.operations.backup.stage import new_stage

ROOM = 4  # policy: a database with its indexes takes so many times the room of its rows in the backup


class NoRehearsal(Exception):
    """It could not be held; the message says why. Nothing is known of the backup."""


def rehearse(plain: Path, say: Say) -> Built:
    """What came of building it; BackupFault if it cannot be restored, NoRehearsal if nothing was tried."""
    manifest = checked(plain)
    loadable(manifest)
    _see_to_room(manifest)
    try:
        with holding(REHEARSING, wait=False), new_stage(PURPOSE) as stage:
            return build(stage, plain, purpose=PURPOSE, say=say)
    except Busy as error:
        raise NoRehearsal("Another rehearsal is going on: wait until it is done.") from error


def _see_to_room(manifest: Manifest) -> None:
    rows = sum(member["bytes"] for name, member in manifest["members"].items() if name.startswith("tables/"))
    free = shutil.disk_usage(settings.DATA_DIR).free
    if free < ROOM * rows:
        raise NoRehearsal(
            f"{ROOM * rows / 1e9:.1f} GB are wanted on the disk of {settings.DATA_DIR}, "
            f"{free / 1e9:.1f} are free."
        )
