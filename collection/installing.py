"""What a start of the site prepares: tables, generic climates, static files, the signing key, schedules."""

from django.core.management import CommandError, call_command
from django.db import DatabaseError, InterfaceError
from django.utils import timezone
from django_q.tasks import async_task

from collection.actions.backups import back_up, told
from collection.backup.archive import BackupFault
from collection.backup.keep import BEFORE_UPGRADE
from collection.installation_key import installation_key
from collection.outage import outage_of
from collection.queries.operations import has_schema, pending_migrations
from collection.queries.runs import HEARTBEAT, generic_climates_exist
from collection.tasks import sync_schedules


def prepare() -> None:
    """Bring database and static files up to date; safe to run at every start.

    CommandError where a disk or the database does not allow it, in words.
    """
    try:
        _prepare()
    except (DatabaseError, InterfaceError, OSError) as error:
        if outage := outage_of(error):
            raise CommandError(f"Longstand cannot start: {outage.log}. ({error})") from error
        raise


def _prepare() -> None:
    _back_up_before_an_upgrade()
    call_command("migrate", interactive=False, verbosity=0)
    if not generic_climates_exist():
        call_command("loaddata", "climates", verbosity=0)
    call_command("collectstatic", interactive=False, verbosity=0)
    installation_key()
    sync_schedules(timezone.now())
    async_task(HEARTBEAT)  # the worker shows itself as soon as it is up


def _back_up_before_an_upgrade() -> None:
    """A new version changes the database for good: what was there before stays in a backup."""
    if not has_schema() or not pending_migrations():
        return
    try:
        back_up(BEFORE_UPGRADE, now=timezone.now())
    except (OSError, BackupFault) as error:
        raise CommandError(
            f"The database must be upgraded, and no backup could be taken first. {told(error)} Mend that "
            "(LONGSTAND_BACKUPS names another folder), or run manage.py migrate to go on without one."
        ) from error
