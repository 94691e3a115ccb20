"""Entries that one table brought into a log: shown as a line, which opens to show them.

Entries of a table that was taken back fold with those that took them back.
"""

import re
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.core.paginator import Page, Paginator
from django.db.models import QuerySet

from collection.care.queries.care import log_of
from collection.chain.replay import OF_A_TABLE
from collection.models import CareKind, Entry, SheetImport, Vehicle

FEW = 4  # policy: so many entries of one table are shown as they are
UNDO = "undo-"  # how the keys of entries begin that take a table back
BROUGHT = re.compile(rf"{OF_A_TABLE}([0-9a-f]{{32}})-")


@dataclass(frozen=True)
class Batch:
    """What a table brought: how many entries, of which days, when and by whom; how many were taken back."""

    ref: str
    name: str
    count: int
    first: datetime
    last: datetime
    recorded_at: datetime
    by: str
    taken_back: int
    back_at: datetime | None
    entries: tuple[Entry, ...]
    is_batch: bool = True


def table_of(entry: Entry) -> str:
    """The key of the table that brought an entry, or that it takes back; empty where none did."""
    key = entry.idempotency_key
    if entry.kind == CareKind.WITHDRAWN and key.startswith(UNDO) and entry.corrects is not None:
        key = entry.corrects.idempotency_key
    brought = BROUGHT.match(key)
    return brought[1] if brought else ""


def fold(log: Iterable[Entry]) -> tuple[list[Entry], list[Batch]]:
    """Entries that stand by themselves, and what larger tables brought or smaller ones took back."""
    of: dict[str, list[Entry]] = defaultdict(list)
    lone: list[Entry] = []
    for entry in log:
        (of[ref] if (ref := table_of(entry)) else lone).append(entry)
    for ref in [ref for ref, entries in of.items() if not _folds(entries)]:
        lone += of.pop(ref)
    tables = SheetImport.objects.filter(pk__in=map(UUID, of)).values_list("pk", "name") if of else ()
    names = {pk.hex: name for pk, name in tables}
    return lone, [_batch(ref, names.get(ref, ""), entries) for ref, entries in of.items()]


def _folds(entries: Sequence[Entry]) -> bool:
    return len(entries) > FEW or any(entry.kind == CareKind.WITHDRAWN for entry in entries)


def _batch(ref: str, name: str, entries: Sequence[Entry]) -> Batch:
    back = [entry for entry in entries if entry.kind == CareKind.WITHDRAWN]
    brought = [entry for entry in entries if entry.kind != CareKind.WITHDRAWN] or back
    return Batch(
        ref=ref,
        name=name or "a table",
        count=len(brought),
        first=min(entry.done_at for entry in brought),
        last=max(entry.done_at for entry in brought),
        recorded_at=min(entry.recorded_at for entry in brought),
        by=str(brought[0].by),
        taken_back=len(back),
        back_at=max((entry.recorded_at for entry in back), default=None),
        entries=tuple(entries),
    )


def log_page(vehicle: Vehicle, *, page: str | None, at_once: int, table: str = "") -> Page[Any]:
    """A page of a car's log, latest first; what a larger table brought is one line where it came in.

    With the key of a ``table`` only what that one brought.
    """
    log = log_of(vehicle)
    if not _has_batches(vehicle):
        return Paginator(log, at_once).get_page(page)
    if table:
        of_it = [entry.pk for entry in _light(vehicle) if table_of(entry) == table]
        return Paginator(log.filter(pk__in=of_it), at_once).get_page(page)
    shown = Paginator(_lines(vehicle), at_once).get_page(page)
    whole = {
        entry.pk: entry for entry in log.filter(pk__in=[line.pk for line in shown if isinstance(line, Entry)])
    }
    shown.object_list = [whole[line.pk] if isinstance(line, Entry) else line for line in shown]
    return shown


def _light(vehicle: Vehicle) -> QuerySet[Entry]:
    """The log with only what its folding asks for."""
    return vehicle.entries.select_related("by", "corrects").only(
        "kind",
        "done_at",
        "recorded_at",
        "idempotency_key",
        "by__name",
        "by__email",
        "corrects__idempotency_key",
    )


def _lines(vehicle: Vehicle) -> list[Entry | Batch]:
    lone, batches = fold(_light(vehicle))
    lines: list[tuple[datetime, datetime, Entry | Batch]] = []
    lines += [(entry.done_at, entry.recorded_at, entry) for entry in lone]
    lines += [(batch.recorded_at, batch.recorded_at, batch) for batch in batches]
    return [line for *_, line in sorted(lines, key=lambda line: line[:2], reverse=True)]


def _has_batches(vehicle: Vehicle) -> bool:
    """Whether a table ever brought anything into the car's log; by the order of the index on the keys."""
    after = OF_A_TABLE[:-1] + chr(ord(OF_A_TABLE[-1]) + 1)
    return vehicle.entries.filter(idempotency_key__gte=OF_A_TABLE, idempotency_key__lt=after).exists()
