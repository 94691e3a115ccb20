"""Writes the invented tables of this folder; what each should be read as stands beside it, written by hand.

    uv run python -m tests.spreadsheets.messy.make_messy

Old workbooks (.xls) need xlwt, which is no package of ours: ``uv run --with xlwt …``; without it they stay.
"""

import io
import zipfile
from datetime import date, datetime
from pathlib import Path
from xml.sax.saxutils import escape

from openpyxl import Workbook

from tests.spreadsheets.messy.tables import BOOKS, TEXTS

HERE = Path(__file__).parent
ODS = "application/vnd.oasis.opendocument.spreadsheet"
NAMES = "urn:oasis:names:tc:opendocument:xmlns"


def main():
    for name, (encoding, text) in TEXTS.items():
        (HERE / name).write_bytes(text.lstrip("\n").encode(encoding))
    for name, sheets in BOOKS.items():
        write = {".xlsx": xlsx_of, ".ods": ods_of, ".xls": xls_of}[Path(name).suffix]
        if data := write(sheets):
            (HERE / name).write_bytes(data)


def xlsx_of(sheets):
    """A workbook."""
    book = Workbook()
    book.remove(book.active)
    for title, rows in sheets.items():
        sheet = book.create_sheet(title)
        for row in rows:
            sheet.append(row)
    file = io.BytesIO()
    book.save(file)
    return file.getvalue()


def ods_of(sheets):
    """An OpenDocument table by hand: the least that a reader takes."""
    tables = "".join(
        f'<table:table table:name="{escape(title)}">{"".join(map(_ods_row, rows))}</table:table>'
        for title, rows in sheets.items()
    )
    spaces = " ".join(f'xmlns:{it}="{NAMES}:{it}:1.0"' for it in ("office", "table", "text"))
    content = (
        f'<?xml version="1.0" encoding="UTF-8"?><office:document-content {spaces} office:version="1.3">'
        f"<office:body><office:spreadsheet>{tables}</office:spreadsheet></office:body></office:document-content>"
    )
    entry = '<manifest:file-entry manifest:full-path="{}" manifest:media-type="{}"/>'
    manifest = (
        f'<manifest:manifest xmlns:manifest="{NAMES}:manifest:1.0">{entry.format("/", ODS)}'
        f"{entry.format('content.xml', 'text/xml')}</manifest:manifest>"
    )
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr(zipfile.ZipInfo("mimetype"), ODS, zipfile.ZIP_STORED)
        archive.writestr("content.xml", content)
        archive.writestr("META-INF/manifest.xml", manifest)
    return file.getvalue()


def _ods_row(row):
    return f"<table:table-row>{''.join(map(_ods_cell, row))}</table:table-row>"


def _ods_cell(value):
    if value is None:
        return "<table:table-cell/>"
    if isinstance(value, date | datetime):
        said = f'office:value-type="date" office:date-value="{value.isoformat()}"'
    elif isinstance(value, int | float):
        said = f'office:value-type="float" office:value="{value}"'
    else:
        said = 'office:value-type="string"'
    return f"<table:table-cell {said}><text:p>{escape(str(value))}</text:p></table:table-cell>"


def xls_of(sheets):
    """An old workbook, where its library is at hand."""
    try:
        import xlwt
    except ImportError:
        return None
    book, day = xlwt.Workbook(), xlwt.easyxf(num_format_str="DD/MM/YYYY")
    for title, rows in sheets.items():
        sheet = book.add_sheet(title)
        for y, row in enumerate(rows):
            for x, value in enumerate(row):
                if value is not None:
                    sheet.write(y, x, value, *([day] if isinstance(value, date) else []))
    file = io.BytesIO()
    book.save(file)
    return file.getvalue()


if __name__ == "__main__":
    main()
