"""What one table brought, as one thing: two statements in the chain of the organisation's settings.

The first says that a batch came in, the second that it was taken back; each names how much and the digest of
the links of all that it wrote, so that nothing of the batch can be exchanged, added or left out later.
"""

from collections.abc import Sequence
from contextlib import AbstractContextManager
from datetime import datetime

from django.db.models import QuerySet

from collection.care.actions.record import Edit
from collection.care.actions.settings import settings_recorded
from collection.chain.canonical import digest
from collection.models import Link, SheetImport, SheetKind
from collection.spreadsheets.actions.log_store import key_of


def stated(row: SheetImport, now: datetime) -> AbstractContextManager[None]:
    """Change ``brought_in`` or ``taken_back`` of a table inside: what is written there is chained."""
    return settings_recorded([row.organisation], Edit(row.by, now))


def statement_in(row: SheetImport) -> str:
    """What a batch brought."""
    if row.kind == SheetKind.CARS:
        made = [int(pk) for pk in row.result.get("made", {})]
        return _statement("cars", _links(record__vehicle__in=made, record__opening=True))
    links = _links(
        entry__vehicle__in=row.result.get("cars", []), entry__idempotency_key__startswith=key_of(row.pk)
    )
    return _statement("care log, entries", links)


def statement_back(row: SheetImport, touched: Sequence[int]) -> str:
    """What of a batch was taken back."""
    if row.kind == SheetKind.CARS:
        return _statement("cars", _links(record__vehicle__in=touched, record__facts__has_key="taken_back_on"))
    of_batch = {"entry__corrects__idempotency_key__startswith": key_of(row.pk)}
    links = _links(entry__vehicle__in=touched, entry__idempotency_key__startswith="undo-", **of_batch)
    return _statement("care log, entries", links)


def _links(**of: object) -> QuerySet[Link, str]:
    return Link.objects.filter(**of).values_list("digest", flat=True)


def _statement(what: str, links: QuerySet[Link, str]) -> str:
    digests = sorted(links)
    return f"{what}: {len(digests)}, SHA-256 {digest(digests)}"
