"""Giving a car out of our hands with its history."""

import hashlib
import uuid
from datetime import datetime

from django.core.exceptions import ValidationError
from django.db import transaction

from collection.actions.care import log_entry
from collection.actions.chain import export_history, sign_statement
from collection.actions.shares import revoke_all
from collection.chain.handover import pack
from collection.installation_key import installation_key
from collection.models import CareKind, Handover, Person, Vehicle
from collection.queries.record import record_of
from collection.queries.runs import local_day


@transaction.atomic
def hand_over(*, vehicle: Vehicle, to: str, by: Person, now: datetime) -> Handover:
    """Note it in the log, sign all, end every link, let the car leave, and keep the file that goes along.

    What is recorded after this in our own copy is not part of what was handed over.
    """
    vehicle = Vehicle.objects.select_for_update().get(pk=vehicle.pk)
    if vehicle.left_on:
        raise ValidationError({"to": "This car has left storage: only a car that is here is handed over."})
    organisation, day = vehicle.organisation, local_day(vehicle.organisation, now)
    log_entry(
        vehicle=vehicle, kind=CareKind.NOTE, done_at=now, by=by, now=now, idempotency_key=str(uuid.uuid4()),
        note=f"Handed over to {to} with its whole history.",
    )  # fmt: skip
    sign_statement(organisation=organisation, now=now)
    record = record_of(vehicle)
    vehicle.left_on, vehicle.bay = day, None
    vehicle.save(update_fields=["left_on", "bay"])
    revoke_all(vehicle=vehicle, now=now)
    file = pack(installation_key(), history=export_history(vehicle, now=now), record=record, to=to)
    return Handover.objects.create(
        vehicle=vehicle, organisation=organisation, by=by, at=now, to=to, file=file,
        digest=hashlib.sha256(file).hexdigest(),
    )  # fmt: skip
