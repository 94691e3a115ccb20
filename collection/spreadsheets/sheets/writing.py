"""Tables out: as a workbook, as CSV, as JSON. Written row by row into a file, so that memory stays small."""

import csv
import io
import json
import zipfile
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import IO, Any

from collection.spreadsheets.sheets.cells import Cell, Formula
from collection.spreadsheets.sheets.escaping import RUNS, fit_for_xml, guarded

FORMS = {
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
    "csv": "text/csv; charset=utf-8",
    "json": "application/json",
    "zip": "application/zip",
}
_LONGEST_CELL = 32_767  # of a workbook (Excel specifications and limits)
_LONGEST_TITLE = 31
FIRST_YEAR = 1901  # before it a workbook counts no days that can be trusted (1900 is no leap year there)


@dataclass(frozen=True)
class Table:
    """A title, headings with their units, and rows that may be made as they are written."""

    title: str
    headings: Sequence[str]
    rows: Iterable[Sequence[Cell]]


def write(form: str, tables: Sequence[Table], file: IO[bytes]) -> None:
    """Write the tables in one of FORMS; CSV takes the first one only."""
    {"xlsx": _xlsx, "csv": _csv, "json": _json, "zip": _zip}[form](tables, file)


def _xlsx(tables: Sequence[Table], file: IO[bytes]) -> None:
    from openpyxl import Workbook  # heavy, and seldom needed

    book = Workbook(write_only=True)
    for table in tables:
        sheet = book.create_sheet(table.title[:_LONGEST_TITLE])
        sheet.freeze_panes = "A2"
        for at, heading in enumerate(table.headings):
            sheet.column_dimensions[_letters(at)].width = min(max(len(heading) + 2, 11), 28)
        sheet.append([_heading(sheet, heading) for heading in table.headings])
        for row in table.rows:
            sheet.append([_xlsx_cell(sheet, cell) for cell in row])
    book.save(file)


def _letters(at: int) -> str:
    return f"{chr(64 + at // 26) if at >= 26 else ''}{chr(65 + at % 26)}" if at < 702 else "ZZ"


def _heading(sheet: Any, heading: str) -> Any:
    cell = _xlsx_text(sheet, heading)
    from openpyxl.styles import Font

    cell.font = Font(bold=True)
    return cell


def _xlsx_cell(sheet: Any, cell: Cell) -> Any:
    if isinstance(cell, str | Formula):
        return _xlsx_text(sheet, str(cell))
    if isinstance(cell, float) and float(f"{cell:.16g}") != cell:
        return _xlsx_exact(sheet, cell)
    if isinstance(cell, date) and cell.year < FIRST_YEAR:
        return cell.isoformat()
    if isinstance(cell, datetime):
        return cell.replace(tzinfo=None)
    return cell


def _blank_cell(sheet: Any, value: float | str) -> Any:
    from openpyxl.cell import WriteOnlyCell

    return WriteOnlyCell(sheet, value=value)


def _xlsx_exact(sheet: Any, value: float) -> Any:
    """A number whose seventeenth figure counts: the library itself writes sixteen."""
    made = _blank_cell(sheet, 0)
    made._value = repr(value)
    return made


def _xlsx_text(sheet: Any, text: str) -> Any:
    """Text stays text, whatever it begins with; control signs are written as the format wants them."""
    made = _blank_cell(sheet, "")
    made._value = fit_for_xml(text)[:_LONGEST_CELL]  # its own setter would take "=…" for a formula
    made.data_type = "s"
    if text.startswith(RUNS):
        made.quotePrefix = True  # stays text also where it is saved as CSV and opened again
    return made


def _csv(tables: Sequence[Table], file: IO[bytes]) -> None:
    text = io.TextIOWrapper(file, "utf-8-sig", newline="", write_through=True)
    writer = csv.writer(text)
    table = tables[0]
    writer.writerow(guarded(heading) for heading in table.headings)
    for row in table.rows:
        writer.writerow([_csv_cell(cell) for cell in row])
    text.flush()
    text.detach()


def _csv_cell(cell: Cell) -> str | int | float | None:
    if isinstance(cell, str | Formula):
        return guarded(str(cell))
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, datetime):
        return cell.isoformat(sep=" ")
    return cell.isoformat() if isinstance(cell, date | time) else cell


def _json(tables: Sequence[Table], file: IO[bytes]) -> None:
    """An object of tables by title; a lone table is a list. Each row is an object by heading."""
    for piece in _json_pieces(tables):
        file.write(piece.encode())


def _json_pieces(tables: Sequence[Table]) -> Iterator[str]:
    if len(tables) == 1:
        yield from _json_rows(tables[0])
        yield "\n"
        return
    yield "{"
    for number, table in enumerate(tables):
        yield f"{',' if number else ''}\n{json.dumps(table.title, ensure_ascii=False)}: "
        yield from _json_rows(table)
    yield "\n}\n"


def _json_rows(table: Table) -> Iterator[str]:
    yield "["
    for number, row in enumerate(table.rows):
        facts = dict(zip(table.headings, row, strict=True))
        yield f"{',' if number else ''}\n {json.dumps(facts, ensure_ascii=False, default=_iso)}"
    yield "\n]"


def _iso(value: date | datetime | time | Formula) -> str:
    return str(value) if isinstance(value, Formula) else value.isoformat()


def _zip(tables: Sequence[Table], file: IO[bytes]) -> None:
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
        for table in tables:
            with archive.open(f"{table.title.lower().replace(' ', '-')}.csv", "w") as part:
                _csv([table], part)
