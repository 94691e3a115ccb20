"""The first look at a car: several entries of the log in one act, stored once however often it is sent."""

from collections.abc import Sequence
from datetime import datetime

from django.db import transaction

from collection.care.actions.care import record
from collection.care.draft import Draft
from collection.care.queries.care import zone_of
from collection.life.refresh import refresh_vehicles
from collection.models import Entry, Person, Vehicle


@transaction.atomic
def look_over(
    *, vehicle: Vehicle, drafts: Sequence[Draft], by: Person, idempotency_key: str, now: datetime
) -> list[Entry]:
    """Log what a first look found, all or nothing; ValidationError names what the log refuses.

    Each entry has a key of its own made from ``idempotency_key`` and its kind.
    """
    logged = [
        record(draft, by=by, idempotency_key=f"{idempotency_key[:40]}-{draft.kind}", now=now)
        for draft in drafts
    ]
    if any(each.created for each in logged):
        refresh_vehicles([vehicle.pk], today=now.astimezone(zone_of(vehicle)).date())
    return [each.entry for each in logged]
