"""Keeps the computed duties true: after a change, every night, and on reading if need be."""

import logging
from collections import defaultdict
from collections.abc import Iterator, Sequence
from datetime import date
from time import perf_counter

from django.db import DatabaseError, transaction
from django.db.models import Count, Q, QuerySet
from django.utils import timezone

from collection.bridge.gather import gather
from collection.bridge.store import policy_of, store
from collection.models import ForecastRun, Organisation, Vehicle
from collection.outage import outage_of
from collection.permissions import Access
from scheduler.plan.duties import DUTIES, MODELS_VERSION, forecast

log = logging.getLogger(__name__)

BATCH = 1000  # cars a transaction; keeps memory and locks small
ON_READ = 500  # cars that a page recomputes itself before it says that dates are old


def refresh_vehicles(pks: Sequence[int], *, today: date) -> None:
    """Recompute these cars now; an error is the caller's to see, nothing is half stored."""
    by_organisation = defaultdict(list)
    for organisation, pk in Vehicle.objects.filter(pk__in=pks).values_list("organisation_id", "pk"):
        by_organisation[organisation].append(pk)
    for organisation, cars in by_organisation.items():
        _compute(organisation, cars, today)


def _compute(organisation: int, pks: Sequence[int], today: date) -> None:
    gathered = gather(pks, today=today)
    if gathered.pks:
        windows = forecast(gathered.fleet, float(today.toordinal()), policy_of(organisation))
        store(gathered, windows, today=today, now=timezone.now())


def refresh_organisation(organisation_pk: int, *, today: date, trigger: str) -> ForecastRun:
    """Recompute a whole organisation; a car that cannot be computed is named, the others go on."""
    organisation = Organisation.objects.get(pk=organisation_pk)
    run = ForecastRun.objects.create(organisation=organisation, started_at=timezone.now(), trigger=trigger)
    began = perf_counter()
    cars = Vehicle.objects.filter(organisation=organisation, left_on__isnull=True).order_by("pk")
    for batch in _batches(list(cars.values_list("pk", flat=True))):
        run.errors += _compute_surely(organisation_pk, batch, today)
        run.cars += len(batch)
    run.seconds = perf_counter() - began
    run.save()
    return run


def _batches(pks: list[int]) -> Iterator[list[int]]:
    for start in range(0, len(pks), BATCH):
        yield pks[start : start + BATCH]


def _compute_surely(organisation: int, pks: list[int], today: date) -> list[dict[str, str]]:
    """Compute a batch; if it fails, halve it until the bad records stand alone, and name them."""
    try:
        with transaction.atomic():
            _compute(organisation, pks, today)
    except Exception as error:
        if outage_of(error):
            raise  # no car is at fault, and none of them can be stored
        if len(pks) > 1:
            half = len(pks) // 2
            return [
                fault
                for part in (pks[:half], pks[half:])
                for fault in _compute_surely(organisation, part, today)
            ]
        log.exception("car %s cannot be computed", pks[0])
        return [{"car": str(Vehicle.objects.get(pk=pks[0])), "pk": str(pks[0]), "error": str(error)}]
    return []


def make_fresh(access: Access, today: date) -> int:
    """Recompute on reading what is not of today or not of these models; returns how many stay old.

    Where nothing can be stored the page is still read, with the dates that are there.
    """
    stale = _stale(access.vehicles(), today)
    now, later = stale[:ON_READ], stale[ON_READ:]
    return len(_try_to_compute(access.organisation.pk, now, today)) + len(later) if stale else 0


def _try_to_compute(organisation: int, pks: list[int], today: date) -> Sequence[object]:
    """What stays old of these cars: those that cannot be computed, all of them in an outage."""
    try:
        return _compute_surely(organisation, pks, today)
    except (DatabaseError, OSError) as error:
        outage = outage_of(error)
        if outage is None:
            raise
        log.error("dates stay old: %s", outage.log)
        return pks


def bring_up_to_date(organisation_pk: int, today: date) -> None:
    """Recompute whatever of an organisation is not of today or not of these models."""
    for batch in _batches(_stale(Vehicle.objects.filter(organisation=organisation_pk), today)):
        _compute_surely(organisation_pk, batch, today)


def refresh_if_stale(vehicle: Vehicle, *, today: date) -> None:
    """The same for one car that is read without a sign-in; what cannot be computed stays as it was."""
    if _stale(Vehicle.objects.filter(pk=vehicle.pk), today):
        _try_to_compute(vehicle.organisation_id, [vehicle.pk], today)


def _stale(vehicles: QuerySet[Vehicle], today: date) -> list[int]:
    fresh = Q(duties__computed_for=today, duties__models_version=MODELS_VERSION)
    return list(
        vehicles.filter(left_on__isnull=True)
        .annotate(fresh_duties=Count("duties", filter=fresh))
        .filter(fresh_duties__lt=len(DUTIES))
        .order_by("pk")
        .values_list("pk", flat=True)
    )
