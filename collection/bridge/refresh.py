"""Keeps the computed duties true: after a change, every night, and on reading if need be."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from datetime import date

from django.db import transaction
from django.db.models import Count, Q, QuerySet
from django.utils import timezone

from collection.bridge.compute import compute, compute_surely
from collection.bridge.fleet_run import begin_run, work_on
from collection.models import ForecastRun, Vehicle
from collection.permissions import Access
from scheduler.plan.duties import DUTIES, MODELS_VERSION

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


def _batches(pks: list[int]) -> Iterator[list[int]]:
    for start in range(0, len(pks), BATCH):
        yield pks[start : start + BATCH]


def make_fresh(access: Access, today: date) -> int:
    """Recompute on reading what is not of today or not of these models; returns how many stay old."""
    stale = _stale(access.vehicles(), today)
    now, later = stale[:ON_READ], stale[ON_READ:]
    return len(compute_surely(access.organisation.pk, now, today)) + len(later) if stale else 0


def bring_up_to_date(organisation_pk: int, today: date) -> None:
    """Recompute whatever of an organisation is not of today or not of these models."""
    for batch in _batches(_stale(Vehicle.objects.filter(organisation=organisation_pk), today)):
        compute_surely(organisation_pk, batch, today)


def refresh_if_stale(vehicle: Vehicle, *, today: date) -> None:
    """The same for one car that is read without a sign-in; what cannot be computed stays as it was."""
    if _stale(Vehicle.objects.filter(pk=vehicle.pk), today):
        compute_surely(vehicle.organisation_id, [vehicle.pk], today)


def _stale(vehicles: QuerySet[Vehicle], today: date) -> list[int]:
    fresh = Q(duties__computed_for=today, duties__models_version=MODELS_VERSION)
    return list(
        vehicles.filter(left_on__isnull=True)
        .annotate(fresh_duties=Count("duties", filter=fresh))
        .filter(fresh_duties__lt=len(DUTIES))
        .order_by("pk")
        .values_list("pk", flat=True)
    )
