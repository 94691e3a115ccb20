"""Taking over a car with its history: verified, stored as chained, verified again; or nothing.

A row of our own that hangs on a car (keys, plans) is left behind here when the car goes to another
organisation.
"""

import hashlib
import uuid
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from collection.care.actions.care import log_entry
from collection.care.actions.record import Edit, open_records
from collection.care.queries.care import released
from collection.cars.actions.rules import follow_kinds
from collection.chain.handover import Brought
from collection.chain.signing import fingerprint
from collection.chain.verdict import Verdict
from collection.chain.verify import verify
from collection.handover.actions.arrived_evidence import add_evidence
from collection.handover.actions.arrived_log import (
    add_entries,
    add_files,
    add_links,
    add_record_entries,
    add_statements,
    add_witnesses,
    missing_files,
    same_so_far,
)
from collection.handover.actions.receipts import sign_receipt
from collection.handover.queries.handovers import chain_here
from collection.handover.queries.record import CAR, LATER_COLUMNS, LATER_PARTS, PARTS
from collection.handover.reading import unpack_apart
from collection.host.refusal import Refused
from collection.life.queries import local_day
from collection.life.refresh import refresh_vehicles
from collection.models import Basis, Bay, CareKind, CarNotes, Chain, Organisation, Owner, Person, Vehicle
from collection.proof.actions import export_history, sign_statement
from collection.web.faults import check

LATER = {"rules", "own_duties", *LATER_PARTS}  # parts that files of earlier versions do not hold
NOT_OURS = "The record in this file does not read as one of ours"


@dataclass(frozen=True)
class Arrival:
    """Where the car comes to, and who lets it in."""

    organisation: Organisation
    owner: Owner
    bay: Bay | None
    by: Person
    now: datetime


@dataclass(frozen=True)
class Taken:
    """The car as it stands here now, or what was wrong with the file; never both."""

    verdict: Verdict
    vehicle: Vehicle | None = None
    key: str = ""
    missing: int = 0  # photographs and documents that entries name and that did not come along


def arrive(*, data: bytes, keys: tuple[str, ...], arrival: Arrival) -> Taken:
    """Take a car over from its file; an unsound file stores nothing and its verdict says why.

    ValidationError (field ``file``) where the file is sound but cannot be taken in here.
    """
    try:
        brought = unpack_apart(data, keys)
    except Refused as fault:
        raise _refused(str(fault).rstrip(".")) from fault
    if brought.facts is None:
        return Taken(brought.verdict)
    try:
        with transaction.atomic():
            vehicle = _take_in(brought, hashlib.sha256(data).hexdigest(), arrival)
    except IntegrityError as error:
        raise _refused("Something in it is already here under the same number") from error
    return Taken(brought.verdict, vehicle, fingerprint(brought.facts["key"]), missing_files(brought))


def _refused(why: str) -> ValidationError:
    return ValidationError({"file": f"{why}. Nothing was stored."})


def _take_in(brought: Brought, digest: str, arrival: Arrival) -> Vehicle:
    facts: Mapping[str, Any] = brought.facts or {}
    history = facts["history"]
    chain = chain_here(history["chain"])
    vehicle = _vehicle(chain, arrival)
    _write_record(vehicle, facts["record"])
    follow_kinds(vehicle)
    if chain is None:
        chain = Chain.objects.create(pk=history["chain"], vehicle=vehicle)
    have = same_so_far(chain, history)
    add_entries(vehicle, history, have, arrival.now)
    add_files(history, have, brought.files)
    add_links(chain, history, have)
    add_record_entries(vehicle, chain, history, have)
    add_evidence(vehicle, chain, history, have)
    today = local_day(arrival.organisation, arrival.now)
    open_records([vehicle], Edit(arrival.by, arrival.now, since=today, basis=Basis.DOCUMENT))
    add_statements(chain, history)
    add_witnesses(chain, history)
    sign_receipt(chain, history, arrival.organisation.name, arrival.now)
    _tell_arrival(vehicle, history, digest, arrival)
    sign_statement(organisation=arrival.organisation, now=arrival.now)
    _verify_again(vehicle, arrival.now)
    refresh_vehicles([vehicle.pk], today=local_day(arrival.organisation, arrival.now))
    return vehicle


def _vehicle(chain: Chain | None, arrival: Arrival) -> Vehicle:
    """A new row, or the row that stands here already where its keeper has handed the car over."""
    vehicle = (chain.vehicle if chain else None) or Vehicle()
    if chain and not released(vehicle):
        raise _refused("This history is kept here already by somebody who has not handed the car over")
    if chain and vehicle.organisation_id != arrival.organisation.pk:
        _leave_behind(vehicle)
    vehicle.organisation, vehicle.owner, vehicle.bay = arrival.organisation, arrival.owner, arrival.bay
    vehicle.left_on = None
    return vehicle


def _leave_behind(vehicle: Vehicle) -> None:
    """What the former keeper knew and planned of the car is theirs: keys, alarms, plans, links, loggers."""
    CarNotes.objects.filter(vehicle=vehicle).delete()
    for rows in (vehicle.pinned, vehicle.assignments, vehicle.unplaced, vehicle.shares, vehicle.logger_files):
        rows.all().delete()
    Vehicle.objects.filter(pk=vehicle.pk).update(notes="")
    vehicle.notes = ""


def _write_record(vehicle: Vehicle, record: Any) -> None:
    """The car and its parts as they were handed over, through the same checks as everything else."""
    if not isinstance(record, dict) or record.keys() | LATER != {"car", *PARTS}:
        raise _refused(NOT_OURS)
    for name, value in _only(_with_later(record["car"]), CAR).items():
        setattr(vehicle, name, value)
    _checked(vehicle)
    vehicle.save()
    for name, (model, names) in PARTS.items():
        if name not in record:
            continue  # an earlier version's file: what stands here of it stays
        if not isinstance(rows := record[name], list):
            raise _refused(NOT_OURS)
        model._default_manager.filter(vehicle=vehicle).delete()
        for row in rows:
            part = model(vehicle=vehicle, **_only(row, names))
            _checked(part)
            part.save()


def _with_later(car: Any) -> Any:
    """The car's columns, those that an earlier version did not know among them, empty."""
    return dict.fromkeys(LATER_COLUMNS, "") | car if isinstance(car, dict) else car


def _only(facts: Any, names: tuple[str, ...]) -> dict[str, Any]:
    if not isinstance(facts, dict) or facts.keys() != set(names):
        raise _refused(NOT_OURS)
    return facts


def _checked(row: Any) -> None:
    try:
        check(row, {})
    except ValidationError as fault:
        raise _refused(f"{NOT_OURS}: {'; '.join(fault.messages)}") from fault


def _tell_arrival(vehicle: Vehicle, history: Mapping[str, Any], digest: str, arrival: Arrival) -> None:
    """The first entry of ours stands upon the last of theirs, and names the file that brought it."""
    count = len(history["entries"])
    log_entry(
        vehicle=vehicle,
        kind=CareKind.NOTE,
        done_at=arrival.now,
        by=arrival.by,
        now=arrival.now,
        idempotency_key=str(uuid.uuid4()),
        note=f"Received from {history['kept_by']} with a history of {count} entries, verified on arrival. "
        f"The file's SHA-256: {digest}. Its key: {fingerprint(history['key'])}.",
    )


def _verify_again(vehicle: Vehicle, now: datetime) -> None:
    """What now stands in our own tables must prove itself as the file did."""
    verdict = verify(export_history(vehicle, now=now))
    if not verdict.sound:
        raise _refused(f"It did not survive being stored: {verdict.faults[0].text}")
