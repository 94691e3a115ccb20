"""A table comes in: read, mapped, remembered. Nothing of it is on the record yet."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from collection.host.refusal import Refused
from collection.models import Organisation, Person, SheetImport, SheetKind, SheetMemory, SheetState, SheetWord
from collection.spreadsheets.queries import car_names, registrations, sole_building, words_of
from collection.spreadsheets.sheets.apart import packed_apart
from collection.spreadsheets.sheets.car_fields import CARS
from collection.spreadsheets.sheets.cells import Sheet, unpack
from collection.spreadsheets.sheets.fields import CHOICE, FLAG, Kind
from collection.spreadsheets.sheets.finding import find_shape, shape_together, weight
from collection.spreadsheets.sheets.guessing import Known, column_of, guess, refined
from collection.spreadsheets.sheets.log_fields import LOG
from collection.spreadsheets.sheets.mapping import TICK, TO_NOTE, Mapping, Use, signature
from collection.spreadsheets.sheets.parsing import Reader
from collection.spreadsheets.sheets.shaping import NO_HEADINGS, Shape, grid_of, table_of
from collection.spreadsheets.sheets.values import MOST_TEXT
from collection.web.units import edge


@dataclass(frozen=True)
class Answer:
    """What somebody said that a text of a field means: a code, a number, or TO_NOTE."""

    field: str
    text: str
    meaning: str


NAMES = ("car", "owner", "place")  # what these texts mean are rows of ours, and no words
FIXED = "fixed:"  # before a field: what is asked holds for every row
KEPT = timedelta(days=14)  # policy: a table that nobody brought in is forgotten after a fortnight
KINDS: dict[str, Kind] = {kind.key: kind for kind in (CARS, LOG)}


def take_in(
    *, organisation: Organisation, by: Person, kind: str, name: str, data: bytes, now: datetime
) -> SheetImport:
    """Read a file and guess what its columns mean; ValidationError says what to send instead.

    Without a kind it is found out: what most headings speak for.
    """
    forget_old(now)
    try:
        packed = packed_apart(name, data)
        sheets = unpack(packed)
    except Refused as fault:
        raise ValidationError({"file": str(fault)}) from fault
    row = SheetImport(organisation=organisation, by=by, kind=kind, name=name[:200], sent_at=now, data=packed)
    known = _known(row)
    row.kind = kind or likely_kind(sheets, known)
    _map(row, sheets, find_shape(sheets, KINDS[row.kind], known))
    row.save()
    return row


def likely_kind(sheets: list[Sheet], known: Known) -> str:
    """What a file holds, by the headings that we know."""
    return max(KINDS, key=lambda key: weight(sheets, KINDS[key], known))


def _known(row: SheetImport) -> Known:
    reader = edge(row.by.units if row.by else "metric")
    return Known(reader, registrations(row.organisation), car_names(row.organisation))


def sheets_of(row: SheetImport) -> list[Sheet]:
    """What was read of the file; ValidationError when it is kept no longer."""
    if row.data is None:
        raise ValidationError("This table is kept no longer: send the file again.")
    return unpack(bytes(row.data))


def mapping_of(row: SheetImport) -> Mapping:
    """How it is to be read."""
    return Mapping.read(row.mapping)


def reader_of(row: SheetImport) -> Reader:
    """How its cells are read: its mapping, and every word whose meaning somebody has said."""
    mapping = mapping_of(row)
    words = words_of(row.organisation, row.kind)
    for field, texts in mapping.answers.items():
        if field not in NAMES:
            words[field] = words.get(field, {}) | texts
    return Reader(KINDS[row.kind], mapping, edge(row.by.units if row.by else "metric"), words)


def choose_shape(*, row: SheetImport, shape: Shape) -> None:
    """Take other sheets of the file, other headings, or the table on its side, and guess anew."""
    _refuse_at_work(row)
    sheets = sheets_of(row)
    names = {sheet.name: sheet for sheet in sheets}
    for name, header in shape.sheets:
        if name not in names:
            raise ValidationError({"sheets": "There is no such sheet in this file: choose one of the list."})
        rows = grid_of(names[name], on_its_side=shape.turned)
        if not NO_HEADINGS <= header < len(rows):
            raise ValidationError({"header": f"Give a row from 1 to {len(rows)}, or none."})
    _map(row, sheets, shape)
    row.save(update_fields=["mapping", "rows", "state", "report", "problem"])


def choose_kind(*, row: SheetImport, kind: str) -> None:
    """The same file for the other purpose; nothing is lost by having chosen wrongly."""
    _refuse_at_work(row)
    sheets = sheets_of(row)
    row.kind = kind
    _map(row, sheets, find_shape(sheets, KINDS[kind], _known(row)))
    row.save(update_fields=["kind", "mapping", "rows", "state", "report", "problem"])


def shape_for(row: SheetImport, names: Sequence[str], *, turned: bool) -> Shape:
    """The best shape of these sheets alone."""
    sheets = [sheet for sheet in sheets_of(row) if sheet.name in names]
    if not sheets:
        raise ValidationError({"sheets": "Choose one sheet at least."})
    kind, known = KINDS[row.kind], _known(row)
    return shape_together(sheets, kind, known, on_its_side=turned)


def _map(row: SheetImport, sheets: list[Sheet], shape: Shape) -> None:
    kind, known = KINDS[row.kind], _known(row)
    mapping = guess(sheets, shape, kind, known)
    table = table_of(sheets, shape)
    memory = SheetMemory.objects.filter(
        organisation=row.organisation, kind=row.kind, signature=signature(row.kind, table.headings)
    ).first()
    if memory and table.headings:
        columns = {int(at): Use(**use) for at, use in memory.columns.items()}
        columns = {at: _fresh(use, kind, column_of(table, at), known.edge) for at, use in columns.items()}
        mapping = Mapping(shape, columns)
    if row.kind == SheetKind.CARS and all(use.field != "place" for use in mapping.columns.values()):
        mapping = replace(mapping, fixed=sole_building(row.organisation))
    row.mapping = mapping.plain() | {"remembered": memory is not None}
    row.rows = len(table.rows)
    row.state, row.report, row.problem = SheetState.MAPPING, {}, ""


def _fresh(use: Use, kind: Kind, cells: list[Any], reader: Any) -> Use:
    """What was remembered; order of day and month, year and decimal sign are these rows' own."""
    finer = refined(use, kind, "", cells, reader)
    order = use.order if finer.order in ("ask", "") else finer.order
    return Use(use.field, use.unit, order, finer.decimal, sure=True, year=finer.year)


@transaction.atomic
def set_mapping(*, row: SheetImport, mapping: Mapping, skip_doubles: bool) -> None:
    """Keep what somebody made of the columns, here and for the next table with these headings."""
    _refuse_at_work(row)
    keys = [use.field for use in mapping.columns.values() if use.field not in (TO_NOTE, TICK)]
    if doubled := sorted({KINDS[row.kind].field(key).label for key in keys if keys.count(key) > 1}):  # type: ignore[union-attr]
        raise ValidationError(f"Two columns are taken for the same thing ({', '.join(doubled)}): choose one.")
    if not mapping.columns:
        raise ValidationError("Say of one column at least what it means.")
    headings = table_of(sheets_of(row), mapping.shape).headings
    if headings:
        SheetMemory.objects.update_or_create(
            organisation=row.organisation,
            kind=row.kind,
            signature=signature(row.kind, headings),
            defaults={"columns": mapping.plain()["columns"]},
        )
    _keep(row, mapping, skip_doubles=skip_doubles)


def _keep(row: SheetImport, mapping: Mapping, *, skip_doubles: bool) -> None:
    row.mapping, row.skip_doubles = mapping.plain(), skip_doubles
    row.state, row.report, row.problem = SheetState.MAPPING, {}, ""
    row.save(update_fields=["mapping", "skip_doubles", "state", "report", "problem"])


@transaction.atomic
def answer(*, row: SheetImport, answers: Sequence[Answer]) -> None:
    """Keep what somebody said that texts mean: of a word for every table to come, of a name for this one."""
    _refuse_at_work(row)
    mapping, kind = mapping_of(row), KINDS[row.kind]
    for said in answers:
        if said.field.startswith(FIXED):
            mapping = replace(mapping, fixed=mapping.fixed | {said.field.removeprefix(FIXED): said.meaning})
            continue
        mapping = mapping.answered(said.field, {said.text: said.meaning})
        field = kind.field(said.field)
        if field is not None and (field.type in (CHOICE, FLAG) or said.field == "kind"):
            SheetWord.objects.update_or_create(
                organisation=row.organisation,
                kind=row.kind,
                field=said.field,
                text=said.text,
                defaults={"meaning": said.meaning},
            )
    _keep(row, mapping, skip_doubles=row.skip_doubles)


@transaction.atomic
def mend(*, row: SheetImport, edits: dict[str, dict[str, str]], aside: dict[str, str]) -> None:
    """Keep cells as somebody corrected them on the page, and which rows wait."""
    _refuse_at_work(row)
    mapping = mapping_of(row)
    merged = dict(mapping.edits)
    for name, cells in edits.items():
        merged[name] = merged.get(name, {}) | {at: text[:MOST_TEXT] for at, text in cells.items()}
    _keep(row, replace(mapping, edits=merged, aside=aside), skip_doubles=row.skip_doubles)


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
