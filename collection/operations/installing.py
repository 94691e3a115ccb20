"""What a start of the site prepares: tables, generic climates, static files, keys, schedules."""

import logging
import os
import sys

from django.core.exceptions import ImproperlyConfigured
from django.core.management import CommandError, call_command
from django.utils import timezone

from collection.host.jobs import leave
from collection.life.queries import HEARTBEAT, generic_climates_exist
from collection.operations.actions.backups import back_up, reason_of
from collection.operations.backup.archive import BackupFault
from collection.operations.backup.keep import BEFORE_UPGRADE
from collection.operations.backup.recover import recover
from collection.operations.backup.wording import recovered
from collection.operations.queries.operations import has_schema, pending_migrations
from collection.operations.schedules import sync_schedules
from collection.operations.shared_keys import check_shared_keys
from collection.places.actions.private import seal_all_anew

log = logging.getLogger(__name__)


def end_broken_off_restore() -> str:
    """What became of a restore that was broken off; nothing where none was. Hold the claim of a start."""
    try:
        ended = recover()
    except BackupFault as error:
        raise CommandError(str(error)) from error
    return recovered(ended) if ended else ""


def begin_again() -> None:
    """Run the same command afresh: its keys and settings were read before they changed."""
    sys.stdout.flush()
    os.execv(sys.executable, [sys.executable, *sys.argv])  # noqa: S606 - the command line we were given


def prepare(*, keys_changed: bool = False, pages: bool = True) -> None:
    """Bring database and files up to date; safe to run at every start, by one process at a time."""
    _back_up_before_an_upgrade()
    call_command("migrate", interactive=False, verbosity=0)
    try:
        check_shared_keys(changed=keys_changed)
    except ImproperlyConfigured as error:
        raise CommandError(str(error)) from error
    if keys_changed and (lost := seal_all_anew()):
        log.error(
            "%s private notes open under no secret known here: name the old one in LONGSTAND_OLD_SECRET_KEYS",
            lost,
        )
    if not generic_climates_exist():
        call_command("loaddata", "climates", verbosity=0)
    if pages:
        call_command("collectstatic", interactive=False, verbosity=0)
    sync_schedules(timezone.now())
    leave(HEARTBEAT)  # the worker shows itself as soon as it is up


def _back_up_before_an_upgrade() -> None:
    """A new version changes the database for good: what was there before stays in a backup."""
    if not has_schema() or not pending_migrations():
        return
    try:
        back_up(BEFORE_UPGRADE, now=timezone.now())
    except (OSError, BackupFault) as error:
        raise CommandError(
            f"The database must be upgraded, and no backup could be taken first. {reason_of(error)} Mend "
            "that (LONGSTAND_BACKUPS names another folder), or run manage.py migrate to go on without one."
        ) from error
