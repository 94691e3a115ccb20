"""Reading a workbook (.xlsx): values only, streamed, and refused where it is larger than it looks.

A formula counts as the value that the program last computed, and one without a value is kept as a formula,
so that it can be said; macros, links and pictures are not opened.
Entities in the XML do not grow: expat refuses amplification since 2.4.1.
"""

import io
import re
import zipfile
from collections.abc import Iterator
from datetime import timedelta
from typing import Any

from collection.spreadsheets.sheets.cells import Cell, Formula, Row, Sheet, Unreadable, trimmed
from collection.spreadsheets.sheets.escaping import from_xml

MOST_UNPACKED = 120_000_000  # bytes; policy: forty times a full table of ours
MOST_FILES = 2000
MOST_SHEETS = 40
MOST_BLANK = 100_000  # empty rows in all; a sheet that claims more is walking us into the dark
MOST_RATIO = 200  # unpacked to packed; policy: the dullest table of ours shrinks to a fiftieth
LEAST_UNPACKED = 10_000_000  # bytes under which no ratio is asked
_CHUNK = 1 << 20
_FORMULA = re.compile(rb"<(?:\w{1,8}:)?f[ >/]")
SWELLS = "This workbook is far larger inside than it looks: it is not opened. Send the table as CSV."
BROKEN = "This workbook is damaged or is no workbook: open it, save it as .xlsx or CSV, and send that."


def read_workbook(data: bytes, *, most_rows: int, most_columns: int) -> list[Sheet]:
    """The tables of a workbook in their order; hidden ones too."""
    formulas = unpacked_safely(data)
    book = _loaded(data, values=True)
    if len(book.worksheets) > MOST_SHEETS:
        raise Unreadable(f"This workbook has more than {MOST_SHEETS} sheets: send the one that matters.")
    written = _loaded(data, values=False).worksheets if formulas else [None] * len(book.worksheets)
    return [
        Sheet(sheet.title, _rows(sheet, beside, most_rows, most_columns))
        for sheet, beside in zip(book.worksheets, written, strict=True)
    ]


def _loaded(data: bytes, *, values: bool) -> Any:
    from openpyxl import load_workbook  # heavy, and seldom needed

    try:
        return load_workbook(io.BytesIO(data), read_only=True, data_only=values, keep_links=False)
    except (Unreadable, MemoryError):
        raise
    except Exception as error:  # the library fails in as many ways as a file can be broken
        raise Unreadable(BROKEN) from error


def unpacked_safely(data: bytes) -> bool:
    """Unpack once and count; a size that the archive only claims is not believed. True: it holds formulas."""
    formulas = False
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            names = archive.infolist()
            unpacked = sum(info.file_size for info in names)
            swells = unpacked > max(LEAST_UNPACKED, MOST_RATIO * len(data))
            if len(names) > MOST_FILES or unpacked > MOST_UNPACKED or swells:
                raise Unreadable(SWELLS)
            for info in names:
                with archive.open(info) as file:  # reads no more than was claimed, and then checks the sum
                    before = b""
                    while piece := file.read(_CHUNK):
                        formulas = formulas or _FORMULA.search(before + piece) is not None
                        before = piece[-16:]
    except (Unreadable, MemoryError):
        raise
    except Exception as error:  # encrypted, cut short, an unknown packing
        raise Unreadable(BROKEN) from error
    return formulas


def _rows(sheet: Any, written: Any, most_rows: int, most_columns: int) -> list[Row]:
    rows: list[Row] = []
    full = blank = 0
    for cells in _with_formulas(sheet, written) if written is not None else _walk(sheet):
        row = trimmed([_value(cell) for cell in cells])
        full, blank = (full + 1, blank) if row else (full, blank + 1)
        if full > most_rows + 1:
            raise Unreadable(f"The sheet {sheet.title} has more than {most_rows:,} rows: split it.")
        if len(row) > most_columns:
            raise Unreadable(f"The sheet {sheet.title} has more than {most_columns} columns: cut it down.")
        if blank > MOST_BLANK:
            break  # what comes after so many empty rows is not the table
        rows.append(row)
    while rows and not rows[-1]:
        rows.pop()
    return rows


def _with_formulas(sheet: Any, written: Any) -> Iterator[tuple[Any, ...]]:
    """The rows of values; where a value is missing beside a formula, the formula."""
    for values, texts in zip(_walk(sheet), _walk(written), strict=True):
        yield tuple(
            Formula(text) if value is None and isinstance(text, str) and text.startswith("=") else value
            for value, text in zip(values, texts, strict=True)
        )


def _walk(sheet: Any) -> Iterator[tuple[Any, ...]]:
    try:
        sheet.reset_dimensions()  # what a file says of its own size is not believed
        yield from sheet.iter_rows(values_only=True)
    except MemoryError:
        raise
    except Exception as error:
        raise Unreadable(BROKEN) from error


def _value(cell: Any) -> Cell:
    if isinstance(cell, str):
        return from_xml(cell)
    if isinstance(cell, timedelta):
        return cell.total_seconds() / 3600
    value: Cell = (
        cell if isinstance(cell, int | float | bool | Formula) or hasattr(cell, "isoformat") else None
    )
    return value
