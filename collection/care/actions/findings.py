"""Something found at a car: a note that waits to be answered and, where it is a danger, a tag."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from django.db import transaction

from collection.care.actions.care import Logged, log_entry
from collection.care.attachments import Attached
from collection.care.findings import BY_LABEL
from collection.models import CareKind, Entry, Person, Vehicle

WHERE_LIMIT = 100  # characters on a tag


@transaction.atomic
def log_finding(  # noqa: PLR0913 - one act with all that belongs to it; keywords only
    *,
    vehicle: Vehicle,
    found: str,
    words: str,
    danger: bool,
    done_at: datetime | None,
    by: Person,
    idempotency_key: str,
    now: datetime,
    claim_skew_s: int = 0,
    attachments: Sequence[Attached] = (),
) -> Logged:
    """Write down what was found, to be seen to; hang a danger tag if it is one of itself, or by ``danger``.

    Sent twice with one key, note and tag are stored once.
    """
    note = f"{found}: {words}" if words else found
    shared: dict[str, Any] = {"vehicle": vehicle, "by": by, "now": now, "claim_skew_s": claim_skew_s}
    logged = log_entry(
        kind=CareKind.NOTE,
        done_at=done_at,
        idempotency_key=idempotency_key,
        details={"found": found},
        note=note,
        attachments=attachments,
        **shared,
    )
    finding = BY_LABEL.get(found)
    if danger or (finding and finding.is_danger):
        where = f"{note}. {(finding.forbids if finding else '') or 'do not use'}"
        log_entry(
            kind=CareKind.TAG_OPENED,
            done_at=done_at,
            idempotency_key=f"{idempotency_key}-tag",
            details={"tag": "danger", "where": where[:WHERE_LIMIT]},
            **shared,
        )
    return logged


def see_to_finding(
    *,
    finding: Entry,
    words: str,
    done_at: datetime | None,
    by: Person,
    idempotency_key: str,
    now: datetime,
    claim_skew_s: int = 0,
) -> Logged:
    """Write down that a finding was seen to, and how. A tag it hung stays until it is taken off."""
    return log_entry(
        vehicle=finding.vehicle,
        kind=CareKind.NOTE,
        done_at=done_at,
        by=by,
        now=now,
        idempotency_key=idempotency_key,
        claim_skew_s=claim_skew_s,
        details={"answers": str(finding.pk)},
        note=words or f"Seen to: {finding.details['found']}",
    )
