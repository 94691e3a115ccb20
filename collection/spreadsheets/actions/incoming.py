"""A table comes in: read, mapped, remembered. Nothing of it is on the record yet."""

from datetime import datetime, timedelta
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from collection.host.refusal import Refused
from collection.models import Organisation, Person, SheetImport, SheetMemory, SheetState
from collection.spreadsheets.queries import registrations
from collection.spreadsheets.sheets.apart import packed_apart
from collection.spreadsheets.sheets.car_fields import CARS
from collection.spreadsheets.sheets.cells import Sheet, unpack
from collection.spreadsheets.sheets.fields import Kind
from collection.spreadsheets.sheets.guessing import Known, column_of, guess, refined
from collection.spreadsheets.sheets.log_fields import LOG
from collection.spreadsheets.sheets.mapping import Mapping, Use, rows_below, signature
from collection.web.units import edge

KEPT = timedelta(days=14)  # policy: a table that nobody brought in is forgotten after a fortnight
KINDS: dict[str, Kind] = {kind.key: kind for kind in (CARS, LOG)}
LIKELY = {"cars": ("cars",), "log": ("care log", "log")}  # sheets of our own workbook


def take_in(
    *, organisation: Organisation, by: Person, kind: str, name: str, data: bytes, now: datetime
) -> SheetImport:
    """Read a file and guess what its columns mean; ValidationError says what to send instead."""
    forget_old(now)
    try:
        packed = packed_apart(name, data)
        sheets = unpack(packed)
    except Refused as fault:
        raise ValidationError({"file": str(fault)}) from fault
    row = SheetImport(organisation=organisation, by=by, kind=kind, name=name[:200], sent_at=now, data=packed)
    _map(row, _first(sheets, kind), None)
    row.save()
    return row


def _first(sheets: list[Sheet], kind: str) -> Sheet:
    """The sheet that bears our own name for it, else the longest."""
    named = (sheet for sheet in sheets if sheet.name.strip().casefold() in LIKELY[kind])
    return next(named, max(sheets, key=lambda sheet: len(sheet.rows)))


def sheets_of(row: SheetImport) -> list[Sheet]:
    """What was read of the file; ValidationError when it is kept no longer."""
    if row.data is None:
        raise ValidationError("This table is kept no longer: send the file again.")
    return unpack(bytes(row.data))


def sheet_of(row: SheetImport) -> Sheet:
    """The sheet that is mapped."""
    return next(sheet for sheet in sheets_of(row) if sheet.name == row.mapping["sheet"])


def choose_sheet(*, row: SheetImport, name: str, header: int | None = None) -> None:
    """Take another sheet of the workbook, or another row of headings, and guess anew."""
    sheet = next((sheet for sheet in sheets_of(row) if sheet.name == name), None)
    if sheet is None:
        raise ValidationError({"sheet": "There is no such sheet in this file: choose one of the list."})
    if header is not None and not 0 <= header < len(sheet.rows):
        raise ValidationError({"header": f"Give a row from 1 to {len(sheet.rows)}."})
    _refuse_at_work(row)
    _map(row, sheet, header)
    row.save(update_fields=["mapping", "rows", "state", "report", "problem"])


def _map(row: SheetImport, sheet: Sheet, header: int | None) -> None:
    kind, reader = KINDS[row.kind], edge(row.by.units if row.by else "metric")
    known = Known(reader, registrations(row.organisation))
    mapping = guess(sheet, kind, known, header)
    headings = sheet.rows[mapping.header] if mapping.header < len(sheet.rows) else []
    memory = SheetMemory.objects.filter(
        organisation=row.organisation, kind=row.kind, signature=signature(row.kind, headings)
    ).first()
    if memory:
        below = sheet.rows[mapping.header + 1 :]
        columns = {int(at): Use(**use) for at, use in memory.columns.items()}
        columns = {at: _fresh(use, kind, column_of(below, at), reader) for at, use in columns.items()}
        mapping = Mapping(sheet.name, mapping.header, columns)
    row.mapping = mapping.plain() | {"remembered": memory is not None}
    row.rows = len(rows_below(sheet.rows, mapping))
    row.state, row.report, row.problem = SheetState.MAPPING, {}, ""


def _fresh(use: Use, kind: Kind, cells: list[Any], reader: Any) -> Use:
    """What was remembered, but the order of day and month and the decimal sign where these rows tell them."""
    finer = refined(use, kind, "", cells, reader)
    order = use.order if finer.order in ("ask", "") else finer.order
    return Use(use.field, use.unit, order, finer.decimal, sure=True)


@transaction.atomic
def set_mapping(*, row: SheetImport, mapping: Mapping, skip_doubles: bool) -> None:
    """Keep what somebody made of the columns, here and for the next table with these headings."""
    _refuse_at_work(row)
    twice = [use.field for use in mapping.columns.values()]
    if doubled := sorted({KINDS[row.kind].field(key).label for key in twice if twice.count(key) > 1}):  # type: ignore[union-attr]
        raise ValidationError(f"Two columns are taken for the same thing ({', '.join(doubled)}): choose one.")
    if not mapping.columns:
        raise ValidationError("Say of one column at least what it means.")
    sheet = sheet_of(row)
    headings = sheet.rows[mapping.header] if mapping.header < len(sheet.rows) else []
    SheetMemory.objects.update_or_create(
        organisation=row.organisation,
        kind=row.kind,
        signature=signature(row.kind, headings),
        defaults={"columns": mapping.plain()["columns"]},
    )
    row.mapping, row.skip_doubles = mapping.plain(), skip_doubles
    row.state, row.report, row.problem = SheetState.MAPPING, {}, ""
    row.save(update_fields=["mapping", "skip_doubles", "state", "report", "problem"])


def _refuse_at_work(row: SheetImport) -> None:
    state = SheetImport.objects.filter(pk=row.pk).values_list("state", flat=True).first()
    if state not in (None, SheetState.MAPPING, SheetState.CHECKED, SheetState.CHECKING):
        raise ValidationError(
            "This table is being brought in, or is in already: nothing about it changes now."
        )


@transaction.atomic
def drop(*, row: SheetImport) -> None:
    """Forget a table that was not brought in; one that was stays in the list, without its values."""
    _refuse_at_work(row)
    SheetImport.objects.filter(pk=row.pk).delete()


def forget_old(now: datetime) -> int:
    """Forget tables that nobody brought in for a fortnight, and the values of those that were."""
    stale = SheetImport.objects.filter(sent_at__lt=now - KEPT)
    waiting = (SheetState.MAPPING, SheetState.CHECKING, SheetState.CHECKED)
    gone, _ = stale.filter(state__in=waiting).delete()
    stale.filter(data__isnull=False, state__in=(SheetState.IMPORTED, SheetState.UNDONE)).update(data=None)
    return gone
