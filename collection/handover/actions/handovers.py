"""Giving a car out of our hands with its history."""

import hashlib
import uuid
from datetime import datetime

from django.core.exceptions import ValidationError
from django.db import transaction

from collection.care.actions.care import log_entry
from collection.care.actions.record import Edit, recorded
from collection.care.queries.attachments import bytes_of
from collection.chain.handover import pack
from collection.handover.queries.handovers import attachments_of
from collection.handover.queries.record import record_of
from collection.history.actions import revoke_all
from collection.host.atomic_files import store
from collection.host.installation_key import installation_key
from collection.life.queries import local_day
from collection.models import Basis, CareKind, Handover, Person, Vehicle
from collection.models.handovers import path_of
from collection.proof.actions import export_history, sign_statement

MOST_OF_FILES = 150_000_000  # bytes; policy: what a person can still send or carry


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
        vehicle=vehicle,
        kind=CareKind.NOTE,
        done_at=now,
        by=by,
        now=now,
        idempotency_key=str(uuid.uuid4()),
        note=f"Handed over to {to} with its whole history.",
    )
    record = record_of(vehicle)
    with recorded(vehicle, Edit(by, now, basis=Basis.CARE_LOG)):
        vehicle.left_on, vehicle.bay = day, None
        vehicle.save(update_fields=["left_on", "bay"])
    sign_statement(organisation=organisation, now=now)
    revoke_all(vehicle=vehicle, now=now)
    files, left_out = _files(vehicle)
    history = export_history(vehicle, now=now)
    file = pack(installation_key(), history=history, record=record, to=to, files=files)
    digest = hashlib.sha256(file).hexdigest()
    store(path_of(digest), file)
    return Handover.objects.create(
        vehicle=vehicle, organisation=organisation, by=by, at=now, to=to, digest=digest, left_out=left_out
    )


def _files(vehicle: Vehicle) -> tuple[dict[str, bytes], int]:
    """The newest photographs and documents that fit, by digest; how many do not, or are gone."""
    files: dict[str, bytes] = {}
    room, left_out = MOST_OF_FILES, set()
    for attachment in attachments_of(vehicle):
        if attachment.digest in files:
            continue
        data = bytes_of(attachment)
        if data is None or len(data) > room:
            left_out.add(attachment.digest)
            continue
        files[attachment.digest] = data
        room -= len(data)
    return files, len(left_out)
