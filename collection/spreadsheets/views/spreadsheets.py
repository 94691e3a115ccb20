"""Tables in: sent, mapped, checked, brought in, taken back."""

import uuid
from datetime import date, datetime
from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from collection.life.queries import worker_is_alive
from collection.models import CareKind, SheetImport, SheetState
from collection.permissions import WORK, AccessRequest, needs
from collection.spreadsheets.actions import incoming, jobs
from collection.spreadsheets.forms import CarsForm, ColumnsForm, SheetForm, TakeInForm
from collection.spreadsheets.sheets.fields import DATE, MOMENT
from collection.spreadsheets.sheets.mapping import Mapping
from collection.spreadsheets.sheets.wording import CellFormat
from collection.web.form_faults import saved
from collection.web.sorting import Column, Sorting
from collection.web.units import edge

AT_WORK = (SheetState.CHECKING, SheetState.IMPORTING, SheetState.UNDOING)
LISTED = 50
COLUMNS = (
    Column("file", "File", ("name",)),
    Column("holds", "Holds", ("kind",)),
    Column("sent", "Sent", ("sent_at",)),
    Column("by", "By", ("by__name",)),
    Column("rows", "Rows", ("rows",), numeric=True),
    Column("state", "State", ("state",)),
)


@needs(WORK)
def spreadsheets(request: AccessRequest) -> HttpResponse:
    """Send a table; see those sent before; take everything out."""
    form = TakeInForm(*((request.POST, request.FILES) if request.method == "POST" else ()))
    made: list[SheetImport] = []

    def take() -> None:
        file, access = form.cleaned_data["file"], request.access
        made.append(
            incoming.take_in(
                organisation=access.organisation,
                by=access.person,
                kind=form.cleaned_data["kind"],
                name=file.name or "table",
                data=file.read(),
                now=timezone.now(),
            )
        )

    if request.method == "POST" and saved([form], take):
        return redirect("spreadsheet_columns", made[0].pk)
    listed = Sorting(request.GET, COLUMNS)
    sheets = listed.rows(request.access.sheets().select_related("by"))[:LISTED]
    shown = {"form": form, "sheets": sheets, "heads": listed.heads}
    return render(request, "spreadsheets/sheets.html", shown)


@needs(WORK)
def spreadsheet_columns(request: AccessRequest, pk: uuid.UUID) -> HttpResponse:
    """What each column means; saved, it is checked at once."""
    row = _row(request, pk, with_data=True)
    if row.state not in (SheetState.MAPPING, SheetState.CHECKED) or row.data is None:
        return redirect("spreadsheet", row.pk)
    tables = incoming.sheets_of(row)
    kept = Mapping.read({key: row.mapping[key] for key in ("sheet", "header", "columns", "cars")})
    chooser = SheetForm(
        _sent(request, "sheet"), sheets=tables, initial={"sheet": kept.sheet, "header": kept.header + 1}
    )
    if request.POST.get("what") == "sheet" and saved([chooser], lambda: _choose(row, chooser)):
        return redirect("spreadsheet_columns", row.pk)
    table = next(sheet for sheet in tables if sheet.name == kept.sheet)
    form = ColumnsForm(
        _sent(request, "columns"),
        kind=row.kind,
        sheet=table,
        mapping=kept,
        edge=edge(request.access.person.units),
    )
    form.initial["skip_doubles"] = row.skip_doubles

    def keep() -> None:
        skip = form.cleaned_data["skip_doubles"]
        incoming.set_mapping(row=row, mapping=form.result(kept.cars), skip_doubles=skip)

    if request.POST.get("what") == "columns" and saved([form], keep):
        jobs.start(row=row, step="check", by=request.access.person, clock=timezone.now)
        return redirect("spreadsheet", row.pk)
    shown = {
        "sheet": row,
        "form": form,
        "chooser": chooser,
        "several": len(tables) > 1,
        "remembered": row.mapping.get("remembered"),
    }
    return render(request, "spreadsheets/columns.html", shown)


def _choose(row: SheetImport, form: SheetForm) -> None:
    header = form.cleaned_data["header"]
    other = form.cleaned_data["sheet"] != row.mapping["sheet"]
    at = None if other or header is None else header - 1
    incoming.choose_sheet(row=row, name=form.cleaned_data["sheet"], header=at)


@needs(WORK)
def spreadsheet(request: AccessRequest, pk: uuid.UUID) -> HttpResponse:
    """How far a table has come: at work, checked, in, or taken back. POST goes a step further."""
    row = _row(request, pk)
    if request.method == "POST":
        return _step(request, row)
    if row.state == SheetState.MAPPING and not row.problem:
        return redirect("spreadsheet_columns", row.pk)
    now = timezone.now()
    shown: dict[str, Any] = {"sheet": row, "worker": worker_is_alive(now), "large": row.rows > jobs.AT_ONCE}
    if row.state in AT_WORK:
        silent = row.beat_at is None or now - row.beat_at > jobs.DEAD_AFTER
        return render(request, "spreadsheets/progress.html", shown | {"silent": silent})
    if row.state in (SheetState.IMPORTED, SheetState.UNDONE):
        return render(
            request, "spreadsheets/result.html", shown | {"counts": _counts(row.result.get("counts", {}))}
        )
    shown |= {"counts": _counts(row.report.get("counts", {})), "samples": _samples(request, row)}
    asked = row.report.get("cars") or {}
    if asked:
        shown["cars_form"] = CarsForm(None, asked=asked, cars=request.access.vehicles().in_bulk())
    return render(request, "spreadsheets/preview.html", shown)


def _step(request: AccessRequest, row: SheetImport) -> HttpResponse:
    what = request.POST.get("what", "")
    try:
        if what == "drop":
            incoming.drop(row=row)
            messages.success(request, f"{row.name} is forgotten; nothing of it was brought in.")
            return redirect("spreadsheets")
        if what == "cars":
            _answer(request, row)
            what = "check"
        if what in jobs.STEPS:
            jobs.start(row=row, step=what, by=request.access.person, clock=timezone.now)
    except ValidationError as fault:
        messages.error(request, " ".join(fault.messages))
    return redirect("spreadsheet", row.pk)


def _answer(request: AccessRequest, row: SheetImport) -> None:
    form = CarsForm(
        request.POST, asked=row.report.get("cars") or {}, cars=request.access.vehicles().in_bulk()
    )
    if not form.is_valid():
        raise ValidationError("Choose cars of the lists.")
    full = _row(request, row.pk, with_data=True)
    kept = Mapping.read({key: full.mapping[key] for key in ("sheet", "header", "columns", "cars")})
    mapping = Mapping(kept.sheet, kept.header, kept.columns, kept.cars | form.answers())
    incoming.set_mapping(row=full, mapping=mapping, skip_doubles=full.skip_doubles)


def _row(request: AccessRequest, pk: uuid.UUID, *, with_data: bool = False) -> SheetImport:
    rows = request.access.sheets().select_related("by", "organisation")
    return get_object_or_404(rows.defer(None) if with_data else rows, pk=pk)


def _sent(request: AccessRequest, what: str) -> Any:
    return request.POST if request.POST.get("what") == what else None


def _counts(counts: dict[str, int]) -> list[tuple[str, int]]:
    """How many entries of each kind."""
    return [(kind.label, counts[kind.value]) for kind in CareKind if counts.get(kind.value)]


def _samples(request: AccessRequest, row: SheetImport) -> list[tuple[int, list[tuple[str, str]]]]:
    """The first rows as they would be stored, in the reader's units."""
    cell_format = CellFormat(edge(request.access.person.units), request.access.time_zone)
    kind = incoming.KINDS[row.kind]
    samples = []
    for sample in row.report.get("samples", []):
        facts = []
        for key, value in sample["values"].items():
            field = kind.field(key)
            if value in (None, "") or (field is None and key != "car"):
                continue
            if field is None:
                facts.append(("Car", str(value)))
                continue
            facts.append((cell_format.heading(field), _sample_text(cell_format, field, value)))
        samples.append((sample["row"], facts))
    return samples


def _sample_text(cell_format: CellFormat, field: Any, value: Any) -> str:
    if field.type == MOMENT:
        return f"{timezone.localtime(datetime.fromisoformat(value)):%a %d %b %Y, %H:%M}"
    if field.type == DATE:
        return f"{date.fromisoformat(value):%a %d %b %Y}"
    if field.key == "kind":
        return str(dict(CareKind.choices).get(value, value))
    cell = cell_format.cell(field, value)
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    return f"{cell:.6g}" if isinstance(cell, float) else str(cell)
