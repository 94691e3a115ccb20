"""Ask for a recompute of the whole fleet."""

from datetime import datetime
from functools import partial

from django.db import transaction
from django_q.tasks import async_task

from collection.bridge.refresh import refresh_organisation
from collection.models import ForecastRun, Organisation
from collection.queries import runs

RECOMPUTE = "collection.tasks.recompute_organisation"


def queue_recompute(organisation_pk: int, *, trigger: str) -> None:
    """Leave the recompute to the worker, once what was just written is really stored."""
    transaction.on_commit(partial(async_task, RECOMPUTE, organisation_pk, trigger))


def recompute_now(*, organisation: Organisation, now: datetime) -> ForecastRun | None:
    """Queue a recompute, or run it at once where no worker would take it; None when queued."""
    if runs.worker_is_alive(now):
        queue_recompute(organisation.pk, trigger=runs.BY_HAND)
        return None
    today = runs.local_day(organisation, now)
    return refresh_organisation(organisation.pk, today=today, trigger=runs.BY_HAND)
