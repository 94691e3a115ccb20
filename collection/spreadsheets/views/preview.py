"""How far a table has come: checked, mended, brought in, taken back."""

import uuid
from datetime import date, datetime
from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone

from collection.life.queries import worker_is_alive
from collection.models import CareKind, SheetImport, SheetState
from collection.permissions import WORK, AccessRequest, needs
from collection.spreadsheets.actions import incoming, jobs
from collection.spreadsheets.actions.bays import add_asked_bays
from collection.spreadsheets.asking import Options, bad_rows
from collection.spreadsheets.forms import AskedForm, RowsForm
from collection.spreadsheets.places import bring_places
from collection.spreadsheets.sheets.fields import DATE, MOMENT
from collection.spreadsheets.sheets.wording import CellFormat
from collection.spreadsheets.views.rows import row_of
from collection.web.units import edge

AT_WORK = (SheetState.CHECKING, SheetState.IMPORTING, SheetState.UNDOING)


@needs(WORK)
def spreadsheet(request: AccessRequest, pk: uuid.UUID) -> HttpResponse:
    """How far a table has come: at work, checked, in, or taken back. POST goes a step further."""
    row = row_of(request, pk, with_data=request.method == "POST")
    if request.method == "POST":
        return _step(request, row)
    if row.state == SheetState.MAPPING:
        return redirect("spreadsheet_columns", row.pk)
    now = timezone.now()
    shown: dict[str, Any] = {"sheet": row, "worker": worker_is_alive(now), "large": row.rows > jobs.AT_ONCE}
    if row.state in AT_WORK:
        silent = row.beat_at is None or now - row.beat_at > jobs.DEAD_AFTER
        return render(request, "spreadsheets/progress.html", shown | {"silent": silent})
    if row.state in (SheetState.IMPORTED, SheetState.UNDONE):
        counts = _counts(row.result.get("counts", {}))
        return render(request, "spreadsheets/result.html", shown | {"counts": counts})
    shown |= {"counts": _counts(row.report.get("counts", {})), "samples": _samples(request, row)}
    if row.report.get("faults"):
        row = row_of(request, pk, with_data=True)
        shown |= {"asked": _asked(request, row, None), "bad": _rows(row, None)}
    shown["aside"] = row.mapping.get("aside", {})
    return render(request, "spreadsheets/preview.html", shown)


def _asked(request: AccessRequest, row: SheetImport, data: Any) -> AskedForm:
    return AskedForm(data, asked=row.report.get("asked") or [], options=Options(request.access, row))


def _rows(row: SheetImport, data: Any) -> RowsForm:
    return RowsForm(data, rows=bad_rows(row))


def _step(request: AccessRequest, row: SheetImport) -> HttpResponse:
    what = request.POST.get("what", "")
    try:
        if what == "drop":
            incoming.drop(row=row)
            messages.success(request, f"{row.name} is forgotten; nothing of it was brought in.")
            return redirect("spreadsheets")
        if what == "places":
            return _bring_places(request, row)
        if what in _MENDING:
            _MENDING[what](request, row)
            what = "check"
        if what in jobs.STEPS:
            jobs.start(row=row, step=what, by=request.access.person, clock=timezone.now)
    except ValidationError as fault:
        messages.error(request, " ".join(fault.messages))
    return redirect("spreadsheet", row.pk)


def _answer(request: AccessRequest, row: SheetImport) -> None:
    form = _asked(request, row, request.POST)
    if not form.is_valid():
        raise ValidationError("Choose of the lists.")
    answers = add_asked_bays(access=request.access, answers=form.answers(), now=timezone.now())
    incoming.answer(row=row, answers=answers)


def _mend(request: AccessRequest, row: SheetImport) -> None:
    form = _rows(row, request.POST)
    if not form.is_valid():
        raise ValidationError("A cell is too long: shorten it.")
    incoming.mend(row=row, edits=form.edits(), aside=incoming.mapping_of(row).aside | form.aside())


def _set_aside(_request: AccessRequest, row: SheetImport) -> None:
    why: dict[str, str] = dict.fromkeys(row.report.get("bad", []), "")
    for fault in row.report.get("faults", []):
        why[str(fault["row"])] = f"{why.get(str(fault['row']), '')}; {fault['text']}".strip("; ")
    incoming.mend(row=row, edits={}, aside=incoming.mapping_of(row).aside | why)


def _take_again(_request: AccessRequest, row: SheetImport) -> None:
    incoming.mend(row=row, edits={}, aside={})


def _bring_places(request: AccessRequest, row: SheetImport) -> HttpResponse:
    made = bring_places(access=request.access, sheets=incoming.sheets_of(row), now=timezone.now())
    said = ", ".join(f"{count} {what}{'s' * (count != 1)}" for what, count in made.items() if count)
    messages.success(request, f"Places written down: {said or 'none, all of them are here already'}.")
    return redirect("spreadsheet_columns", row.pk)


_MENDING = {"asked": _answer, "mend": _mend, "aside": _set_aside, "again": _take_again}


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
