"""Rows of a table that wait, as a table to be saved."""

from collection.models import SheetImport, SheetState
from collection.spreadsheets.actions.faults import TITLE, WRONG, faults_sheet
from collection.spreadsheets.actions.incoming import sheets_of
from collection.spreadsheets.sheets.writing import Table


def faults_table(row: SheetImport) -> Table:
    """The rows with faults and those set aside; of a table that is in, those that were kept back."""
    if row.data is None:
        return Table(TITLE, [WRONG], [])
    sheet = sheets_of(row)[0] if row.state in (SheetState.IMPORTED, SheetState.UNDONE) else faults_sheet(row)
    headings = [str(cell) for cell in sheet.rows[0]]
    return Table(
        TITLE, headings, ([*cells, *[None] * (len(headings) - len(cells))] for cells in sheet.rows[1:])
    )
