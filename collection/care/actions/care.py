"""Writing the care log: an entry is checked, stored once, and moves the car's dates at once."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from collection.care.actions.attachments import attach
from collection.care.actions.chain import chain_entry
from collection.care.actions.moves import FILLED_IN, move_car, with_places
from collection.care.attachments import Attached
from collection.care.checks import CORRECTED_ALREADY, check_entry
from collection.care.draft import Draft, Measured
from collection.care.queries.care import zone_of
from collection.care.queries.clock import CLOCK_BEHIND, clock_behind
from collection.life.refresh import refresh_vehicles
from collection.models import Entry, Person, Reading, Vehicle
from collection.models.care import CLAIM_SKEW

KEY_TAKEN = "This key was already used for a different entry: send a new key."


@dataclass(frozen=True)
class Logged:
    """The entry that now stands, and whether this call stored it or an earlier one had."""

    entry: Entry
    created: bool


def log_entry(  # noqa: PLR0913  # one act with all that belongs to it; keywords only
    *,
    vehicle: Vehicle,
    kind: str,
    done_at: datetime | None,
    by: Person,
    idempotency_key: str,
    now: datetime,
    details: Mapping[str, Any] | None = None,
    readings: Sequence[Measured] = (),
    note: str = "",
    corrects: Entry | None = None,
    claim_skew_s: int = 0,
    attachments: Sequence[Attached] = (),
) -> Logged:
    """Log one thing done to one car; ``done_at`` None is "just now".

    Sent twice with one key, it is stored once and the second call gets the first one's entry.
    ValidationError names each field at fault (a detail's key, a reading's ``field``) and the fix;
    then nothing is stored. In one transaction: entry, readings, attachments, the car's bay, its duties.
    """
    draft = Draft(
        vehicle,
        kind,
        done_at,
        details or {},
        tuple(readings),
        note.strip(),
        corrects,
        claim_skew_s,
        tuple(attachments),
    )
    with transaction.atomic():
        logged = record(draft, by=by, idempotency_key=idempotency_key, now=now)
        if logged.created:
            refresh_vehicles([vehicle.pk], today=now.astimezone(zone_of(vehicle)).date())
    return logged


def record(draft: Draft, *, by: Person, idempotency_key: str, now: datetime) -> Logged:
    """Store the entry without recomputing the car's duties: for many entries in a row."""
    if not idempotency_key or len(idempotency_key) > 64:
        raise ValidationError({"idempotency_key": "Send a key of 1 to 64 characters, new for each entry."})
    earlier = _earlier(draft, idempotency_key)
    if earlier:
        return Logged(earlier, created=False)
    with transaction.atomic():
        Vehicle.objects.select_for_update().get(pk=draft.vehicle.pk)  # one writer a car
        check_entry(draft, now=now)
        try:
            entry = _store(draft, by, idempotency_key, now)
        except IntegrityError as error:
            return Logged(_overtaken(draft, idempotency_key, error), created=False)
        move_car(entry)
    return Logged(entry, created=True)


def _store(draft: Draft, by: Person, key: str, now: datetime) -> Entry:
    behind = clock_behind(draft.vehicle, now)
    with transaction.atomic():
        entry = Entry.objects.create(
            vehicle=draft.vehicle,
            kind=draft.kind,
            done_at=draft.done_at or now,
            recorded_at=now + behind,
            by=by,
            details=with_places(draft) | _clocks(draft, behind),
            note=draft.note,
            corrects=draft.corrects,
            idempotency_key=key,
        )
        Reading.objects.bulk_create(
            Reading(
                entry=entry,
                quantity=r.quantity,
                value=r.value,
                position=r.position,
                temperature_c=r.temperature_c,
                rest_hours=r.rest_hours,
            )
            for r in draft.readings
        )
        attach(entry, draft.attachments)
        chain_entry(entry)
    return entry


def _clocks(draft: Draft, behind: timedelta) -> dict[str, int]:
    """The flags of an entry whose time comes from a clock that was wrong: a phone's, or our own."""
    seconds = {CLAIM_SKEW: draft.claim_skew_s, CLOCK_BEHIND: round(behind.total_seconds())}
    return {flag: value for flag, value in seconds.items() if value}


def _earlier(draft: Draft, key: str) -> Entry | None:
    """The entry already stored under this key; refused if it says something else."""
    entry = Entry.objects.filter(vehicle=draft.vehicle, idempotency_key=key).first()
    if entry and not _says_the_same(entry, draft):
        raise ValidationError({"idempotency_key": KEY_TAKEN})
    return entry


def _overtaken(draft: Draft, key: str, error: IntegrityError) -> Entry:
    """Somebody stored between our look and our write: the same entry, or another correction."""
    entry = _earlier(draft, key)
    if entry:
        return entry
    if Entry.objects.filter(corrects=draft.corrects, corrects__isnull=False).exists():
        raise ValidationError({"corrects": CORRECTED_ALREADY}) from error
    raise error


def _says_the_same(entry: Entry, draft: Draft) -> bool:
    filled_in = {key: entry.details[key] for key in FILLED_IN if key in entry.details}
    measured = tuple(
        Measured(r.quantity, r.value, r.position, r.temperature_c, r.rest_hours) for r in entry.readings.all()
    )
    return (
        entry.kind == draft.kind
        and draft.done_at in (None, entry.done_at)
        and entry.details == filled_in | dict(draft.details)
        and measured == tuple(draft.readings)
        and entry.note == draft.note
        and entry.corrects_id == (draft.corrects.pk if draft.corrects else None)
        and {file.digest for file in draft.attachments} <= {row.digest for row in entry.attachments.all()}
    )
