"""Tables in: sent, and what their sheets and columns mean."""

import uuid
from typing import Any

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone

from collection.models import SheetImport, SheetState
from collection.permissions import WORK, AccessRequest, needs
from collection.spreadsheets.actions import incoming, jobs
from collection.spreadsheets.forms import ColumnsForm, ShapeForm, TakeInForm
from collection.spreadsheets.places import holds_places
from collection.spreadsheets.sheets.shaping import table_of
from collection.spreadsheets.views.rows import row_of
from collection.web.form_faults import saved
from collection.web.sorting import Column, Sorting
from collection.web.units import edge

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
    row = row_of(request, pk, with_data=True)
    if row.state not in (SheetState.MAPPING, SheetState.CHECKED) or row.data is None:
        return redirect("spreadsheet", row.pk)
    sheets, kept = incoming.sheets_of(row), incoming.mapping_of(row)
    chooser = ShapeForm(_sent(request, "shape"), row=row, sheets=sheets)
    if request.POST.get("what") == "shape" and saved([chooser], lambda: _reshape(row, chooser)):
        return redirect("spreadsheet_columns", row.pk)
    form = ColumnsForm(
        _sent(request, "columns"),
        kind=row.kind,
        table=table_of(sheets, kept.shape),
        mapping=kept,
        edge=edge(request.access.person.units),
    )
    form.initial["skip_doubles"] = row.skip_doubles

    def keep() -> None:
        incoming.set_mapping(row=row, mapping=form.result(), skip_doubles=form.cleaned_data["skip_doubles"])

    if request.POST.get("what") == "columns" and saved([form], keep):
        jobs.start(row=row, step="check", by=request.access.person, clock=timezone.now)
        return redirect("spreadsheet", row.pk)
    shown = {
        "sheet": row,
        "form": form,
        "chooser": chooser,
        "several": len(sheets) > 1,
        "holds_places": request.access.may_manage and holds_places(sheets),
        "remembered": row.mapping.get("remembered"),
    }
    return render(request, "spreadsheets/columns.html", shown)


def _reshape(row: SheetImport, form: ShapeForm) -> None:
    kind = form.cleaned_data["kind"]
    if kind != row.kind:
        incoming.choose_kind(row=row, kind=kind)
    else:
        incoming.choose_shape(row=row, shape=form.result())


def _sent(request: AccessRequest, what: str) -> Any:
    return request.POST if request.POST.get("what") == what else None
