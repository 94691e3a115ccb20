"""Finishing a task of the worksheet: stored once, even when two people finish it at once."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db import transaction

from collection.care.actions.care import Logged
from collection.care.queries.finishing import answered_since, clash_under, stored_under
from collection.models import Clash, Entry, Person, Vehicle


@dataclass(frozen=True)
class Attempt:
    """Who finishes which task of a car by what kind of entry, and when they last saw it open."""

    vehicle: Vehicle
    kind: str
    duty: str
    seen: datetime
    by: Person
    idempotency_key: str
    said: Mapping[str, Any]  # what was typed, kept when it is not logged


def finish(attempt: Attempt, log: Callable[[], Logged], *, now: datetime) -> Logged | Clash:
    """Log the work by ``log``, unless somebody did so since it was seen open: then note the clash.

    Sent again with one key it gives the same entry or the same clash. ValidationError is that of
    ``log``; then nothing is stored.
    """
    with transaction.atomic():
        Vehicle.objects.select_for_update().get(pk=attempt.vehicle.pk)  # one writer a car
        if not stored_under(attempt.vehicle, attempt.idempotency_key):
            if clash := clash_under(attempt.vehicle, attempt.idempotency_key):
                return clash
            if entry := answered_since(attempt.vehicle, attempt.kind, attempt.duty, attempt.seen):
                return _note(attempt, entry, now)
        return log()


def _note(attempt: Attempt, entry: Entry, now: datetime) -> Clash:
    return Clash.objects.create(
        entry=entry, by=attempt.by, at=now, idempotency_key=attempt.idempotency_key, said=dict(attempt.said)
    )
