"""What a start of the site prepares: tables, generic climates, static files, the signing key, schedules."""

from django.core.management import call_command
from django.utils import timezone
from django_q.tasks import async_task

from collection.installation_key import installation_key
from collection.queries.runs import HEARTBEAT, generic_climates_exist
from collection.tasks import sync_schedules


def prepare() -> None:
    """Bring database and static files up to date; safe to run at every start."""
    call_command("migrate", interactive=False, verbosity=0)
    if not generic_climates_exist():
        call_command("loaddata", "climates", verbosity=0)
    call_command("collectstatic", interactive=False, verbosity=0)
    installation_key()
    sync_schedules(timezone.now())
    async_task(HEARTBEAT)  # the worker shows itself as soon as it is up
