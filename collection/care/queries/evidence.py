"""Evidence in the form of every entry of a chain."""

from datetime import date
from typing import Any

from collection.chain.links import Facts, instant
from collection.models import Evidence

EVIDENCE = "evidence"
DAYS = ("on", "until")
TOLD = (*DAYS, "odometer_km", "code", "count", "event", "answers", "hard", "withdrawn", "grade")


def evidence_facts(row: Evidence, *, by: str) -> Facts:
    """All that a row says; ``by`` is its author's pseudonym. Its document stands in it by its digest."""
    values = {"kind": row.kind} | {name: getattr(row, name) for name in TOLD}
    return {
        "id": str(row.pk),
        "kind": EVIDENCE,
        "done_at": instant(row.recorded_at),
        "recorded_at": instant(row.chained_at or row.recorded_at),
        "by": by,
        "details": {name: _plain(value) for name, value in values.items() if _has_value(value)},
        "note": row.note,
        "corrects": str(row.corrects_id) if row.corrects_id else None,
        "key": row.idempotency_key,
        "attachments": [_document(row)] if row.document_id else [],
        "readings": [],
    }


def _has_value(value: Any) -> bool:
    return value not in (None, "", [])


def _plain(value: Any) -> Any:
    return value.isoformat() if isinstance(value, date) else value


def _document(row: Evidence) -> Facts:
    return {name: getattr(row.document, name) for name in ("name", "type", "size", "digest")}
