"""Ask for a recompute of the whole fleet, and see that what was asked for gets done."""

from datetime import date, datetime
from functools import partial

from django.db import transaction

from collection.host import jobs
from collection.life import queries as runs
from collection.life.fleet_run import begin_run, work_on_any
from collection.life.refresh import refresh_organisation
from collection.models import ForecastRun, Organisation

RECOMPUTE = "collection.tasks.recompute"
MOST_HELPERS = 16  # jobs queued for one run: as many workers can share it, however large it is
AT_ONCE = 500  # cars that somebody may wait for; about three seconds


@transaction.atomic
def queue_recompute(organisation_pk: int, *, trigger: str, now: datetime) -> ForecastRun:
    """Write the run down and leave it to the workers, once what was just written is really stored."""
    run = begin_run(organisation_pk, trigger=trigger, now=now)
    for _ in range(min(MOST_HELPERS, max(1, run.parts.count()))):
        wake(run.pk)
    return run


def wake(run_pk: int) -> None:
    """Let a worker take parts of the run, once what was just written is stored."""
    transaction.on_commit(partial(jobs.leave, RECOMPUTE, run_pk))


@transaction.atomic
def queue_nightly(organisation: Organisation, *, now: datetime) -> None:
    """Queue the night's run, unless another host has done so since."""
    runs.held(organisation)
    if runs.needs_a_run_tonight(organisation, now):
        queue_recompute(organisation.pk, trigger=runs.NIGHTLY, now=now)


def work_on_run(run_pk: int, *, now: datetime, until: datetime) -> None:
    """Take parts of a run, and of others, for a while; what is left then goes to the end of the queue."""
    if work_on_any(run_pk, lambda organisation: runs.local_day(organisation, now), until=until):
        wake(run_pk)


def wake_quiet_runs(now: datetime) -> None:
    """Wake workers for each run whose jobs were lost with the worker or the queue that had them."""
    if not jobs.waiting():  # else they are still on their way
        for run in runs.quiet(now):
            if runs.quiet(now).filter(pk=run.pk).update(nudged_at=now):  # else another host was quicker
                wake(run.pk)


def recompute_now(*, organisation: Organisation, now: datetime) -> ForecastRun | None:
    """Queue a recompute, or run it at once where no worker would take it; None when queued."""
    if runs.worker_is_alive(now):
        queue_recompute(organisation.pk, trigger=runs.BY_HAND, now=now)
        return None
    today = runs.local_day(organisation, now)
    return refresh_organisation(organisation.pk, today=today, trigger=runs.BY_HAND)


def recompute_after(change: str, *, organisation: Organisation, today: date, now: datetime) -> None:
    """Recompute after a change to every car: a large fleet by the workers, if there are any."""
    if runs.cars_standing(organisation) > AT_ONCE and runs.worker_is_alive(now):
        queue_recompute(organisation.pk, trigger=change, now=now)
    else:
        refresh_organisation(organisation.pk, today=today, trigger=change)
