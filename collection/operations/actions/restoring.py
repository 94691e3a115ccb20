"""Bringing an installation back from a backup: built aside, looked at, then all of it or nothing."""

from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from django.db import DatabaseError

from collection.host import env
from collection.host.locks import PREPARING, Busy, holding
from collection.operations.backup.archive import BackupFault, Manifest, checked
from collection.operations.backup.build import Say, build
from collection.operations.backup.engine import engine
from collection.operations.backup.in_use import InUse
from collection.operations.backup.load import loadable
from collection.operations.backup.recover import recover
from collection.operations.backup.sealed import opened
from collection.operations.backup.stage import RESTORING, Stage, new_stage
from collection.operations.backup.switch import switch
from collection.operations.backup.wording import (
    AT_IT,
    LEFT_TO_THE_NEXT,
    NOTHING_CHANGED,
    OVERRIDDEN,
    THERE_IS_ONE,
    UNDONE,
    is_kept,
    reason,
    recovered,
)

Clock = Callable[[], datetime]


def restore(path: Path, *, replace: bool, identity: Path | None, clock: Clock, say: Say) -> bool:
    """Whether all that came back was found sound; BackupFault says why nothing came and how things stand."""
    try:
        with holding(PREPARING, wait=False):
            if before := recover():
                say(recovered(before))
            with opened(path, identity) as plain:
                return _restore(plain, replace=replace, clock=clock, say=say)
    except Busy as error:
        raise BackupFault(AT_IT) from error


def _restore(plain: Path, *, replace: bool, clock: Clock, say: Say) -> bool:
    try:
        manifest = checked(plain)
        loadable(manifest)
        was_empty = engine().is_empty()
        if not was_empty:
            if not replace:
                raise BackupFault(THERE_IS_ONE)
            engine().refuse_if_in_use()
    except (InUse, DatabaseError) as error:
        raise BackupFault(f"{reason(error)} {NOTHING_CHANGED}") from error
    with new_stage(RESTORING) as stage:
        try:
            built = build(stage, plain, purpose=RESTORING, say=say)
            if not was_empty:
                engine().refuse_if_in_use()
        except (InUse, BackupFault, OSError, DatabaseError) as error:
            raise BackupFault(f"{reason(error)} {NOTHING_CHANGED}") from error
        kept = _switched(stage, manifest, was_empty=was_empty, now=clock())
    say("Restored. Everybody signs in again; start the site with manage.py serve.")
    if kept:
        say(is_kept(kept))
    if "secret-key" in manifest["keys"] and env.text("LONGSTAND_SECRET_KEY"):
        say(OVERRIDDEN)
    return built.sound


def _switched(stage: Stage, manifest: Manifest, *, was_empty: bool, now: datetime) -> list[str]:
    """Where what was here is kept. What breaks off is ended at once, or by the next start."""
    try:
        return switch(stage, manifest, was_empty=was_empty, now=now)
    except BaseException as error:
        try:
            ended = recover()
        except Exception as second:
            raise BackupFault(f"{reason(error)} {LEFT_TO_THE_NEXT} ({reason(second)})") from error
        if ended and ended.finished and isinstance(error, Exception):
            return ended.kept
        if isinstance(error, Exception):
            raise BackupFault(f"{reason(error)} {UNDONE}") from error
        raise
