"""Keeps the computed duties true: after a change, every night, and on reading if need be."""

import logging
from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from datetime import date

from django.db import DatabaseError, transaction
from django.db.models import Count, Exists, OuterRef, Q, QuerySet
from django.utils import timezone

from collection.host.outage import outage_of
from collection.life.core.compute import compute, compute_isolating_faults
from collection.life.core.store import MODELS_VERSION
from collection.life.fleet_run import begin_run, work_on
from collection.life.summaries import summarise
from collection.models import CarSummary, ForecastRun, Vehicle
from collection.permissions import Access
from scheduler.vocabulary.duties import DUTIES

log = logging.getLogger(__name__)

BATCH = 1000  # cars a transaction; keeps memory and locks small
ON_READ = 500  # cars that a page recomputes itself before it says that dates are old


def refresh_vehicles(pks: Sequence[int], *, today: date) -> None:
    """Recompute these cars now; an error is the caller's to see, nothing is half stored."""
    by_organisation = defaultdict(list)
    for organisation, pk in Vehicle.objects.filter(pk__in=pks).values_list("organisation_id", "pk"):
        by_organisation[organisation].append(pk)
    with transaction.atomic():
        for organisation, cars in by_organisation.items():
            compute(organisation, cars, today)


def refresh_organisation(organisation_pk: int, *, today: date, trigger: str) -> ForecastRun:
    """Recompute a whole organisation now; a car that cannot be computed is named, the others go on."""
    run = begin_run(organisation_pk, trigger=trigger, now=timezone.now())
    work_on(run.pk, lambda _: today)
    run.refresh_from_db()
    return run


def _batches(pks: list[int], size: int = BATCH) -> Iterator[list[int]]:
    for start in range(0, len(pks), size):
        yield pks[start : start + size]


def recompute_stale(access: Access, today: date, among: QuerySet[Vehicle] | None = None) -> int:
    """Recompute on reading what is not of today or not of these models; returns how many stay old.

    ``among`` are the cars that the reader is about to see; by default all that they may see. Where nothing
    can be stored the page is still read, with the dates that are there. So no page needs the worker, and a
    page of many cars names only those that it shows: ``tests/web/test_constant_queries.py`` counts queries.
    """
    doubtful = _doubtful(access.vehicles() if among is None else among, today)
    if not doubtful:
        return 0
    stale = _stale(doubtful, today)
    fresh = sorted(set(doubtful) - set(stale))
    with _outage_leaves_dates_old():
        summarise(fresh, today)  # written by somebody who did not sum them up
    now, later = stale[:ON_READ], stale[ON_READ:]
    return len(_try_to_compute(access.organisation.pk, now, today)) + len(later) if stale else 0


def _try_to_compute(organisation: int, pks: list[int], today: date) -> Sequence[object]:
    """What stays old of these cars: those that cannot be computed, all of them in an outage."""
    with _outage_leaves_dates_old():
        return compute_isolating_faults(organisation, pks, today)
    return pks


@contextmanager
def _outage_leaves_dates_old() -> Iterator[None]:
    """What cannot be stored now is stored another time; the log says so."""
    try:
        yield
    except (DatabaseError, OSError) as error:
        outage = outage_of(error)
        if outage is None:
            raise
        log.error("dates stay old: %s", outage.log)


def bring_up_to_date(
    organisation_pk: int, today: date, *, at_once: int = BATCH, breath: Callable[[], None] | None = None
) -> None:
    """Recompute whatever of an organisation is not of today or not of these models.

    Who lets others write in between gives few cars ``at_once``, and a ``breath`` to take after each batch.
    """
    doubtful = _doubtful(Vehicle.objects.filter(organisation=organisation_pk), today)
    for batch in _batches(_stale(doubtful, today), at_once):
        compute_isolating_faults(organisation_pk, batch, today)
        if breath:
            breath()


def refresh_if_stale(vehicle: Vehicle, *, today: date) -> None:
    """The same for one car that is read without a sign-in; what cannot be computed stays as it was."""
    if _stale(_doubtful(Vehicle.objects.filter(pk=vehicle.pk), today), today):
        _try_to_compute(vehicle.organisation_id, [vehicle.pk], today)


def _doubtful(vehicles: QuerySet[Vehicle], today: date) -> list[int]:
    """Cars in storage whose sum is not of today and of these models; one query that meets one index."""
    summed = CarSummary.objects.filter(
        vehicle=OuterRef("pk"), computed_for=today, models_version=MODELS_VERSION
    )
    cars = vehicles.filter(~Exists(summed), left_on__isnull=True)
    return list(cars.order_by("pk").values_list("pk", flat=True))


def _stale(pks: Sequence[int], today: date) -> list[int]:
    """Those of the cars that lack a duty of today and of these models."""
    fresh = Q(duties__computed_for=today, duties__models_version=MODELS_VERSION, duties__title="")
    return [
        pk
        for batch in _batches(list(pks))
        for pk in Vehicle.objects.filter(pk__in=batch)
        .annotate(fresh_duties=Count("duties", filter=fresh))
        .filter(fresh_duties__lt=len(DUTIES))
        .order_by("pk")
        .values_list("pk", flat=True)
    ]
