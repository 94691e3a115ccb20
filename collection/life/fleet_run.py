"""A recompute of a whole organisation, cut into parts that any worker on any host may take.

What is to be done stands in the database before anything is queued: a job only wakes a worker, which
takes whatever part nobody else holds. A part is one transaction: a worker that is killed leaves its cars
at their old dates, its part not done, and the lock on it goes with its connection.
"""

from collections.abc import Callable
from datetime import date, datetime

from django.db import transaction
from django.db.models import Manager, QuerySet
from django.utils import timezone

from collection.life.core.compute import compute_isolating_faults
from collection.models import ForecastRun, Organisation, RunPart, Vehicle

PART = 100  # cars a part: who logs at one of them waits for the rest, well under a second
DayOf = Callable[[Organisation], date]  # an organisation's own day
RUNNING, DONE, REPLACED = ForecastRun.State.RUNNING, ForecastRun.State.DONE, ForecastRun.State.REPLACED


@transaction.atomic
def begin_run(organisation_pk: int, *, trigger: str, now: datetime) -> ForecastRun:
    """Write down a run with its parts; one that was still going is replaced, since this does all of it."""
    Organisation.objects.select_for_update(no_key=True).get(pk=organisation_pk)  # one beginner at a time
    for earlier in ForecastRun.objects.filter(organisation=organisation_pk, state=RUNNING):
        _end(earlier, REPLACED, now)
    run = ForecastRun.objects.create(
        organisation_id=organisation_pk, started_at=now, nudged_at=now, trigger=trigger, state=RUNNING
    )
    cars = list(_standing(organisation_pk).values_list("pk", flat=True))
    RunPart.objects.bulk_create(
        [
            RunPart(run=run, first_car=part[0], last_car=part[-1])
            for part in (cars[start : start + PART] for start in range(0, len(cars), PART))
        ],
        batch_size=1000,
    )
    return run


def work_on(run_pk: int, day_of: DayOf) -> None:
    """Do parts of a run that nobody else holds, until none is left."""
    while _do_a_part(RunPart.objects.filter(run=run_pk), day_of):
        pass
    _end_if_done(run_pk)


def work_on_any(run_pk: int, day_of: DayOf, *, until: datetime) -> bool:
    """Do parts of this run, then of any other, until none is left or it is late; whether it got late.

    A job that was lost with its machine thus leaves nothing behind while any other is being done.
    """
    _end_if_done(run_pk)  # whoever did its last part may not have lived to say so
    while _do_a_part(RunPart.objects.filter(run=run_pk), day_of) or _do_a_part(RunPart.objects, day_of):
        if timezone.now() >= until:
            return True
    return False


def _do_a_part(parts: QuerySet[RunPart] | Manager[RunPart], day_of: DayOf) -> bool:
    """Compute the first part that is not done and that nobody holds; False where there is none."""
    with transaction.atomic():
        waiting = parts.filter(run__state=RUNNING, done_at__isnull=True).select_related("run__organisation")
        part = waiting.select_for_update(skip_locked=True, of=("self",)).order_by("pk").first()
        if part is None:
            return False
        organisation = part.run.organisation
        cars = _standing(organisation.pk).filter(pk__range=(part.first_car, part.last_car))
        pks = list(cars.values_list("pk", flat=True))
        part.errors, part.cars = (
            compute_isolating_faults(organisation.pk, pks, day_of(organisation)),
            len(pks),
        )
        part.done_at = timezone.now()
        part.save()
    _end_if_done(part.run_id)
    return True


@transaction.atomic
def _end_if_done(run_pk: int) -> None:
    run = ForecastRun.objects.select_for_update().filter(pk=run_pk, state=RUNNING).first()
    if run and not run.parts.filter(done_at__isnull=True).exists():
        _end(run, DONE, timezone.now())


def _end(run: ForecastRun, state: ForecastRun.State, now: datetime) -> None:
    """Keep of the parts what they came to."""
    parts = run.parts.select_for_update().order_by("pk")  # one in hand is waited for, and counts
    done = [part for part in parts if part.done_at]
    run.cars = sum(part.cars for part in done)
    run.errors = [fault for part in done for fault in part.errors]
    run.state, run.seconds = state, max(0.0, (now - run.started_at).total_seconds())
    run.save()
    run.parts.all().delete()


def _standing(organisation_pk: int) -> QuerySet[Vehicle]:
    return Vehicle.objects.filter(organisation=organisation_pk, left_on__isnull=True).order_by("pk")
