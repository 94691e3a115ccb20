"""Reading OpenDocument tables (.ods) and old workbooks (.xls), by a library that is no Python.

It holds a whole sheet in memory: only in a child of its own, whose limits end it where one claims too much.
"""

import io
import re
import zipfile
from datetime import date, datetime, timedelta
from typing import Any

from python_calamine import CalamineError, CalamineWorkbook, PasswordError

from collection.spreadsheets.sheets.cells import Cell, Row, Sheet, Unreadable, trimmed
from collection.spreadsheets.sheets.workbook import BROKEN, MOST_SHEETS, unpacked_safely

# A cell of an OpenDocument table with a formula, and what else is said of it (ODF 1.3-3, 19.642).
_FORMULA = re.compile(rb"<table:table-cell\b([^<>]*\btable:formula=[^<>]*)>")
UNCOMPUTED = (
    "This file has {} formulas without a value: open it, let it compute them (F9), save it, and send that."
)
LOCKED = "This workbook is locked by a password: save it without one, and send that."


def read_other_workbook(data: bytes, *, most_rows: int, most_columns: int) -> list[Sheet]:
    """The tables of a workbook in their order; hidden ones too."""
    if data.startswith(b"PK"):
        unpacked_safely(data)
        _refuse_uncomputed(data)
    try:
        book = CalamineWorkbook.from_object(io.BytesIO(data))
        names = book.sheet_names
        if len(names) > MOST_SHEETS:
            raise Unreadable(f"This workbook has more than {MOST_SHEETS} sheets: send the one that matters.")
        return [
            Sheet(name, _rows(name, book.get_sheet_by_name(name), most_rows, most_columns)) for name in names
        ]
    except PasswordError as error:
        raise Unreadable(LOCKED) from error
    except (CalamineError, OSError, ValueError) as error:
        raise Unreadable(BROKEN) from error


def _rows(name: str, sheet: Any, most_rows: int, most_columns: int) -> list[Row]:
    rows = [trimmed([_value(cell) for cell in cells]) for cells in sheet.to_python(skip_empty_area=False)]
    if sum(map(bool, rows)) > most_rows + 1:
        raise Unreadable(f"The sheet {name} has more than {most_rows:,} rows: split it.")
    if max(map(len, rows), default=0) > most_columns:
        raise Unreadable(f"The sheet {name} has more than {most_columns} columns: cut it down.")
    return rows


def _value(cell: Any) -> Cell:
    if isinstance(cell, timedelta):
        return cell.total_seconds() / 3600
    if isinstance(cell, float) and cell.is_integer():
        return int(cell)
    if isinstance(cell, date) and not isinstance(cell, datetime):
        return datetime(cell.year, cell.month, cell.day)  # noqa: DTZ001 - a day as a workbook holds it
    value: Cell = cell
    return value


def _refuse_uncomputed(data: bytes) -> None:
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        if "content.xml" not in archive.namelist():
            raise Unreadable(BROKEN)
        cells = _FORMULA.findall(archive.read("content.xml"))
    without = sum(b"office:value" not in it and b"office:string-value" not in it for it in cells)
    if without:
        raise Unreadable(UNCOMPUTED.format(without))
