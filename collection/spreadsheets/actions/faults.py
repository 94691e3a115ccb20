"""Rows of a table that could not come in, as they stood, with what is wrong in a last column."""

from collection.models import SheetImport
from collection.spreadsheets.actions.incoming import mapping_of, sheets_of
from collection.spreadsheets.sheets.cells import Row, Sheet
from collection.spreadsheets.sheets.headings import heading_of
from collection.spreadsheets.sheets.shaping import table_of

TITLE, WRONG = "Rows to correct", "What is wrong"


def faults_sheet(row: SheetImport) -> Sheet:
    """The rows with faults and those set aside; edited cells as they were edited."""
    mapping = mapping_of(row)
    wrong = dict(mapping.aside)
    for fault in row.report.get("faults", []):
        before = wrong.get(str(fault["row"]), "")
        wrong[str(fault["row"])] = f"{before}; {fault['text']}".strip("; ")
    table = table_of(sheets_of(row), mapping.shape)
    width = max([len(table.headings), *(len(cells) for _, cells in table.rows)], default=0)
    rows: list[Row] = [[*(heading_of(table.headings, at) for at in range(width)), WRONG]]
    for name, cells in table.rows:
        if str(name) in wrong:
            edits = mapping.edits.get(str(name), {})
            own = [edits.get(str(at), cells[at] if at < len(cells) else None) for at in range(width)]
            rows.append([*own, wrong[str(name)]])
    return Sheet(TITLE, rows)
