"""A table brought in without a page: the same reading, checking and storing."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from django.core.exceptions import ValidationError
from django.core.management.base import CommandError
from django.utils import timezone

from collection.models import Organisation, Person, Role, SheetImport, SheetState
from collection.spreadsheets.actions import incoming, jobs
from collection.spreadsheets.sheets.headings import heading_of
from collection.spreadsheets.sheets.letters import letters
from collection.spreadsheets.sheets.mapping import TICK, Mapping, Use
from collection.spreadsheets.sheets.shaping import Table, table_of

OF_A_COLUMN = ("field", "unit", "order", "year", "decimal")


@dataclass(frozen=True)
class Wanted:
    """What somebody asked for at the command line."""

    file: Path
    kind: str
    owner: str
    by: str
    organisation: str
    set: list[str]
    set_aside: bool
    dry_run: bool


def import_table(wanted: Wanted) -> dict[str, Any]:
    """Bring the table in, or try to; how it was understood, what is asked, what was or would be stored."""
    organisation = _organisation(wanted.organisation)
    by = _person(organisation, wanted.by)
    try:
        row = incoming.take_in(
            organisation=organisation,
            by=by,
            kind=wanted.kind,
            name=wanted.file.name,
            data=wanted.file.read_bytes(),
            now=timezone.now(),
        )
        result = _brought_in(row, wanted, by)
    except OSError as error:
        raise CommandError(f"{wanted.file} cannot be read: {error.strerror}.") from error
    except ValidationError as fault:
        raise CommandError(" ".join(fault.messages)) from fault
    if result["state"] != SheetState.IMPORTED:
        incoming.drop(row=row)
    return result


def _brought_in(row: SheetImport, wanted: Wanted, by: Person) -> dict[str, Any]:
    table = table_of(incoming.sheets_of(row), incoming.mapping_of(row).shape)
    mapping = _with_settings(incoming.mapping_of(row), table, wanted.set)
    if wanted.owner:
        mapping = replace(mapping, fixed=mapping.fixed | {"owner": wanted.owner})
    incoming.set_mapping(row=row, mapping=mapping, skip_doubles=True)
    asked = [f"{what} of column {letters(at)}" for at, what in mapping.questions()]
    if not asked:
        _step(row, "check", by)
    if row.report.get("faults") and wanted.set_aside:
        why = {str(fault["row"]): fault["text"] for fault in row.report["faults"]}
        incoming.mend(row=row, edits={}, aside=dict.fromkeys(row.report["bad"], "") | why)
        _step(row, "check", by)
    good = not asked and row.state == SheetState.CHECKED and not row.report["faults"]
    if good and not wanted.dry_run:
        _step(row, "import", by)
    return _result(row, mapping, table, asked)


def _step(row: SheetImport, step: str, by: Person) -> None:
    jobs.start(row=row, step=step, by=by, clock=timezone.now, here=True)
    row.refresh_from_db()
    if row.problem:
        raise ValidationError(row.problem)


def _result(row: SheetImport, mapping: Mapping, table: Table, asked: list[str]) -> dict[str, Any]:
    kind, report = incoming.KINDS[row.kind], row.report
    columns = {}
    for at, use in mapping.columns.items():
        field = kind.field(use.field)
        columns[letters(at)] = {
            "heading": heading_of(table.headings, at),
            "field": use.field,
            "means": field.label if field else "ticks of work" if use.field == TICK else "into the note",
            "unit": use.unit,
            "sure": use.sure,
        }
    texts = [f"what “{it['text']}” is ({it['field']}, {it['rows']} rows)" for it in report.get("asked", [])]
    return {
        "sheets": [name for name, _ in mapping.shape.sheets],
        "columns": columns,
        "left_out": report.get("left", []),
        "rows": row.rows,
        "asked": [*asked, *texts],
        "faults": report.get("faults", []),
        "notes": report.get("notes", []),
        "counts": report.get("counts", {}),
        "set_aside": len(incoming.mapping_of(row).aside),
        "state": row.state,
    }


def lines_of(result: dict[str, Any]) -> Iterator[str]:
    """The same for a person."""
    yield f"{', '.join(result['sheets'])}: {result['rows']} rows."
    for at, column in result["columns"].items():
        unit = f", {column['unit']}" if column["unit"] else ""
        yield f"  {at} {column['heading']} → {column['means']}{unit}{'' if column['sure'] else ' (guessed)'}"
    if result["left_out"]:
        yield f"Not brought in: {', '.join(result['left_out'])}."
    yield from (f"Asked: {it}." for it in result["asked"])
    yield from (f"Row {it['row']}, {it['field'] or 'the row'}: {it['text']}" for it in result["faults"])
    yield from (f"Row {it['row']}, {it['field'] or 'the row'}: {it['text']}" for it in result["notes"])
    counts = ", ".join(f"{count} {name.replace('_', ' ')}" for name, count in result["counts"].items())
    done = "Stored" if result["state"] == SheetState.IMPORTED else "Nothing stored"
    yield f"{done}: {counts or 'not checked'}."


def _organisation(name: str) -> Organisation:
    rows = Organisation.objects.filter(name=name) if name else Organisation.objects.all()
    if len(rows) != 1:
        known = ", ".join(Organisation.objects.values_list("name", flat=True))
        raise CommandError(f"Say by --organisation which of these: {known}.")
    return rows[0]


def _person(organisation: Organisation, email: str) -> Person:
    people = Person.objects.filter(memberships__organisation=organisation)
    found = people.filter(email=email) if email else people.filter(memberships__role=Role.MANAGER)
    if len(found) != 1:
        raise CommandError("Say by --by in whose name: the e-mail address of a member.")
    return found[0]


def _with_settings(mapping: Mapping, table: Table, settings: list[str]) -> Mapping:
    """What somebody said of columns: ``B:unit=psi``."""
    columns = dict(mapping.columns)
    width = max([len(table.headings), *(len(row) for _, row in table.rows)], default=0)
    places = {letters(at): at for at in range(width)}
    for setting in settings:
        where, _, value = setting.partition("=")
        column, _, what = where.partition(":")
        if column not in places or what not in OF_A_COLUMN or not value:
            raise CommandError(f"{setting}: write a column, one of {', '.join(OF_A_COLUMN)}, and a value.")
        use = columns.get(places[column], Use(""))
        if what == "year" and not value.isdigit():
            raise CommandError(f"{setting}: a year is a number.")
        facts: dict[str, Any] = {what: int(value) if what == "year" else value}
        if what == "unit":
            facts["unit_asked"] = False
        columns[places[column]] = replace(use, **facts)
    return replace(mapping, columns=columns)
