"""Writing down what is found on a car; a wrong find is replaced or withdrawn, never changed."""

from datetime import date, datetime

from django.core.exceptions import ValidationError
from django.db import transaction

from collection.care.checks import FIRST_YEAR
from collection.care.queries.care import zone_of
from collection.models import Evidence, Person, Vehicle
from collection.recommission.core.standing import evidence_faults
from collection.recommission.queries import evidence_of
from collection.web.faults import check

YEARS_AHEAD = 10  # papers may run out years from now; later is a slip of the pen (policy)
REPLACED = "Somebody has already replaced or withdrawn this: open the list and see theirs."


@transaction.atomic
def save_evidence(*, row: Evidence, by: Person, key: str, now: datetime) -> Evidence:
    """Store one find; sent twice with one key, it stands once. ValidationError names field and fix."""
    Vehicle.objects.select_for_update().get(pk=row.vehicle_id)
    earlier = Evidence.objects.filter(vehicle=row.vehicle_id, idempotency_key=key).first()
    if earlier:
        return earlier
    row.by, row.idempotency_key, row.recorded_at = by, key, now
    if row.corrects and Evidence.objects.filter(corrects=row.corrects).exists():
        raise ValidationError(REPLACED)
    check(row, dict(_faults(row, now)))
    row.save(force_insert=True)
    return row


def _faults(row: Evidence, now: datetime) -> list[tuple[str, str]]:
    if row.corrects and row.corrects.vehicle_id != row.vehicle_id:
        return [("corrects", "That belongs to another car.")]
    today = now.astimezone(zone_of(row.vehicle)).date()
    far = [name for name in ("on", "until") if _far(getattr(row, name), today)]
    if far:
        return [(name, f"Give a year from {FIRST_YEAR} to {today.year + YEARS_AHEAD}.") for name in far]
    others = [other for other in evidence_of(row.vehicle) if other.pk != row.corrects_id]
    return evidence_faults(row, others, today=today)


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
        note=reason,
        withdrawn=True,
        corrects=row,
    )
    return save_evidence(row=gone, by=by, key=key, now=now)
