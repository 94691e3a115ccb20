"""What a start of the site prepares: tables, generic climates, static files, keys, schedules."""

from django.core.exceptions import ImproperlyConfigured
from django.core.management import CommandError, call_command
from django.utils import timezone

from collection.jobs import leave
from collection.queries.runs import HEARTBEAT, generic_climates_exist
from collection.shared_keys import check_shared_keys
from collection.tasks import sync_schedules


def prepare(*, keys_changed: bool = False, pages: bool = True) -> None:
    """Bring database and files up to date; safe to run at every start, by one process at a time."""
    call_command("migrate", interactive=False, verbosity=0)
    try:
        check_shared_keys(changed=keys_changed)
    except ImproperlyConfigured as error:
        raise CommandError(str(error)) from error
    if not generic_climates_exist():
        call_command("loaddata", "climates", verbosity=0)
    if pages:
        call_command("collectstatic", interactive=False, verbosity=0)
    sync_schedules(timezone.now())
    leave(HEARTBEAT)  # the worker shows itself as soon as it is up
