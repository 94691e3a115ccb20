"""Tables as people keep them, made here."""

import csv
import io
from dataclasses import replace
from datetime import UTC, datetime

from openpyxl import Workbook

from collection.spreadsheets.actions import incoming, jobs
from collection.spreadsheets.sheets.cells import Sheet
from collection.spreadsheets.sheets.finding import find_shape
from collection.spreadsheets.sheets.guessing import guess
from collection.web.units import edge

NOW = datetime(2026, 11, 25, 15, tzinfo=UTC)


def clock():
    return NOW


def csv_of(rows, *, delimiter=",", encoding="utf-8"):
    text = io.StringIO(newline="")
    csv.writer(text, delimiter=delimiter).writerows(rows)
    return text.getvalue().encode(encoding)


def book_of(sheets):
    """A workbook: title of each sheet and its rows."""
    book = Workbook()
    book.remove(book.active)
    for title, rows in sheets.items():
        sheet = book.create_sheet(title)
        for row in rows:
            sheet.append(row)
    file = io.BytesIO()
    book.save(file)
    return file.getvalue()


def guessed(rows, kind, known):
    """How a lone sheet is understood."""
    sheets = [Sheet("s", rows)]
    return guess(sheets, find_shape(sheets, kind, known), kind, known)


def send(organisation, by, kind, rows, name="table.csv"):
    """A table sent and mapped as guessed."""
    data = rows if isinstance(rows, bytes) else csv_of(rows)
    return incoming.take_in(organisation=organisation, by=by, kind=kind, name=name, data=data, now=NOW)


def confirm(row):
    """Every unit, order and year that must be said is said as it is likely."""
    mapping = incoming.mapping_of(row)
    own = edge(row.by.units)
    columns = {}
    for at, use in mapping.columns.items():
        field = incoming.KINDS[row.kind].field(use.field)
        unit = use.unit or (own.unit(field.unit).name if use.unit_asked else "")
        order = "dmy" if use.order == "ask" else use.order
        columns[at] = replace(use, unit=unit, unit_asked=False, order=order, year=NOW.year if use.year else 0)
    incoming.set_mapping(row=row, mapping=replace(mapping, columns=columns), skip_doubles=row.skip_doubles)
    return row


def step(row, what, by=None):
    jobs.start(row=row, step=what, by=by or row.by, clock=clock)
    row.refresh_from_db()
    return row


def bring_in(organisation, by, kind, rows, name="table.csv"):
    """Sent, checked and brought in; the check must find nothing to mend."""
    row = step(confirm(send(organisation, by, kind, rows, name)), "check")
    assert (row.state, row.problem, row.report.get("faults")) == ("checked", "", []), (
        row.problem,
        row.report,
    )
    step(row, "import")
    assert (row.state, row.problem) == ("imported", "")
    return row
