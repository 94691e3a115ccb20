"""Writing down what is found on a car; a wrong find is replaced or withdrawn, never changed."""

from collections.abc import Sequence
from datetime import date, datetime
from uuid import NAMESPACE_URL, uuid5

from django.core.exceptions import ValidationError
from django.db import transaction

from collection.care.actions.care import record
from collection.care.actions.chain import append_links, pseudonyms
from collection.care.attachments import Attached
from collection.care.checks import FIRST_YEAR
from collection.care.draft import Draft
from collection.care.queries.care import released, zone_of
from collection.care.queries.clock import clock_behind
from collection.care.queries.evidence import evidence_facts
from collection.models import Attachment, CareKind, Evidence, Grade, Person, Vehicle
from collection.recommission.core.standing import evidence_faults, kind_label
from collection.recommission.queries import evidence_of
from collection.web.faults import check

YEARS_AHEAD = 10  # papers may run out years from now; later is a slip of the pen (policy)
REPLACED = "Somebody has already replaced or withdrawn this: open the list and see theirs."
LEFT = "This car was handed over: evidence goes on where it is now."
NO_DOCUMENT = (
    "A document of the time proves nothing unseen: add a photograph or scan of it, or choose another."
)


@transaction.atomic
def save_evidence(
    *, row: Evidence, by: Person, key: str, now: datetime, files: Sequence[Attached] = ()
) -> Evidence:
    """Store one find with its document, and chain it; sent twice with one key, it stands once.

    ValidationError names field and fix. A correction keeps the document of what it corrects.
    """
    car = Vehicle.objects.select_for_update().get(pk=row.vehicle_id)
    earlier = Evidence.objects.filter(vehicle=row.vehicle_id, idempotency_key=key).first()
    if earlier:
        return earlier
    if released(car):
        raise ValidationError(LEFT)
    if row.corrects and Evidence.objects.filter(corrects=row.corrects).exists():
        raise ValidationError(REPLACED)
    row.by, row.idempotency_key, row.recorded_at = by, key, now + clock_behind(car, now)
    row.document = row.corrects.document if row.corrects else None
    check(row, dict(_faults(row, files, now)))
    if files:
        row.document = _keep(row, files, now)
    facts = evidence_facts(row, by=pseudonyms({by.pk})[by.pk])
    [row.link] = append_links(car, [facts], [None])
    row.save(force_insert=True)
    return row


def _keep(row: Evidence, files: Sequence[Attached], now: datetime) -> Attachment:
    """The document stands in the car's log, as every file does."""
    draft = Draft(
        row.vehicle, CareKind.NOTE, None, note=f"Evidence: {kind_label(row.kind)}", attachments=files
    )
    key = str(uuid5(NAMESPACE_URL, f"{row.idempotency_key}/document"))
    entry = record(draft, by=row.by, idempotency_key=key, now=now).entry
    return entry.attachments.get(number=1)


def _faults(row: Evidence, files: Sequence[Attached], now: datetime) -> list[tuple[str, str]]:
    if row.corrects and row.corrects.vehicle_id != row.vehicle_id:
        return [("corrects", "That belongs to another car.")]
    if row.grade == Grade.DOCUMENT and not (files or row.document):
        return [("document", NO_DOCUMENT)]
    today = now.astimezone(zone_of(row.vehicle)).date()
    far = [name for name in ("on", "until") if _far(getattr(row, name), today)]
    if far:
        return [(name, f"Give a year from {FIRST_YEAR} to {today.year + YEARS_AHEAD}.") for name in far]
    others = [other for other in evidence_of(row.vehicle) if other.pk != row.corrects_id]
    return _outside_its_life(row) or evidence_faults(row, others, today=today)


def _outside_its_life(row: Evidence) -> list[tuple[str, str]]:
    car, last = row.vehicle, row.until or row.on
    if last and car.year and last.year < car.year - 1:
        return [("on", f"This is before the car was built ({car.year}): check the day.")]
    if row.on and car.left_on and row.on > car.left_on:
        return [("on", f"The car left storage on {car.left_on:%-d %b %Y}: give that day or an earlier one.")]
    return []


def _far(day: date | None, today: date) -> bool:
    return day is not None and not FIRST_YEAR <= day.year <= today.year + YEARS_AHEAD


def withdraw_evidence(*, row: Evidence, by: Person, key: str, now: datetime, reason: str) -> Evidence:
    """Say that a find should never have been written down, and why."""
    gone = Evidence(
        vehicle=row.vehicle,
        kind=row.kind,
        on=row.on,
        until=row.until,
        odometer_km=row.odometer_km,
        code=row.code,
        count=row.count,
        event=row.event,
        answers=row.answers,
        hard=row.hard,
        grade=row.grade,
        note=reason,
        withdrawn=True,
        corrects=row,
    )
    return save_evidence(row=gone, by=by, key=key, now=now)
