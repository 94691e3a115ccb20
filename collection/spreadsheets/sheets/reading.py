"""A file of unknown making becomes tables of values, or says why it cannot."""

import csv
import io
from collections import Counter

from collection.spreadsheets.sheets.cells import Row, Sheet, Unreadable, trimmed
from collection.spreadsheets.sheets.escaping import unguarded

# policy: wide enough for years of a large barn's log, small enough to be read while somebody waits
MOST_BYTES = 10_000_000
MOST_ROWS = 20_000
MOST_COLUMNS = 250
MOST_CELLS = 2_000_000  # of all tables of a file; policy
MOST_CHARACTERS = 30_000_000  # likewise: a workbook may name one long text in every cell
LONGEST_CELL = 32_767  # characters; a workbook's cell holds no more (ECMA-376-1, 18.3.1.93)
LONGEST_NAME = 100  # of a sheet
DELIMITERS = ",;\t|"
LOOKED_AT = 60  # lines from which the delimiter is guessed
_ZIP, _OLD = b"PK\x03\x04", b"\xd0\xcf\x11\xe0"
_ODS = (
    b"mimetypeapplication/vnd.oasis.opendocument"  # the first file of the archive, unpacked (ODF 1.3-2, 3.3)
)


def read_file(name: str, data: bytes) -> list[Sheet]:
    """Every table of the file that holds anything; Unreadable says what to do instead."""
    if len(data) > MOST_BYTES:
        raise Unreadable(
            f"This file has {len(data) / 1e6:.1f} MB: up to {MOST_BYTES / 1e6:.0f} MB are read. Split it."
        )
    if data.startswith(_OLD) or (data.startswith(_ZIP) and _ODS in data[:100]):
        from collection.spreadsheets.sheets.other_workbooks import read_other_workbook

        sheets = read_other_workbook(data, most_rows=MOST_ROWS, most_columns=MOST_COLUMNS)
    elif data.startswith(_ZIP):
        from collection.spreadsheets.sheets.workbook import read_workbook  # a quarter of a second

        sheets = read_workbook(data, most_rows=MOST_ROWS, most_columns=MOST_COLUMNS)
    else:
        sheets = [Sheet(name, _rows(decoded(data)))]
    sheets = [sheet for sheet in sheets if any(sheet.rows)]
    if not sheets:
        raise Unreadable("This file holds no rows: send one with a line of headings and rows beneath it.")
    _refuse_too_much(sheets)
    return [Sheet(sheet.name[:LONGEST_NAME], sheet.rows) for sheet in sheets]


def _refuse_too_much(sheets: list[Sheet]) -> None:
    """No cell longer than a workbook's, and not more of them or of their text than a page can deal with."""
    cells = characters = 0
    for sheet in sheets:
        for number, row in enumerate(sheet.rows, 1):
            lengths = [len(cell) for cell in row if isinstance(cell, str)]
            if (longest := max(lengths, default=0)) > LONGEST_CELL:
                raise Unreadable(
                    f"Row {number} has a cell of {longest:,} characters: up to {LONGEST_CELL:,} are read. "
                    "Shorten it."
                )
            cells, characters = cells + len(row), characters + sum(lengths)
    if cells > MOST_CELLS:
        raise Unreadable(f"This file has {cells:,} cells: up to {MOST_CELLS:,} are read. Split it.")
    if characters > MOST_CHARACTERS:
        raise Unreadable(
            f"The cells of this file hold {characters / 1e6:.0f} million characters: up to "
            f"{MOST_CHARACTERS / 1e6:.0f} million are read. Split it."
        )


def decoded(data: bytes) -> str:
    """The text of a CSV file: by its mark, else UTF-8, else what Windows and older machines write."""
    for mark, encoding in ((b"\xef\xbb\xbf", "utf-8-sig"), (b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16")):
        if data.startswith(mark):
            return _checked(_decode(data, encoding))
    if (silent := _without_mark(data)) is not None:
        return _checked(_decode(data, silent))
    for encoding in ("utf-8", "cp1252"):
        try:
            return _checked(data.decode(encoding))
        except UnicodeDecodeError:
            continue
    return _checked(data.decode("latin-1"))


def _decode(data: bytes, encoding: str) -> str:
    try:
        return data.decode(encoding)
    except UnicodeDecodeError as error:
        raise Unreadable(
            "This file is cut short or mixes encodings: save it again as CSV UTF-8, and send that."
        ) from error


def _without_mark(data: bytes) -> str | None:
    """UTF-16 whose mark is missing shows by a nought in every second byte."""
    sample = data[:400]
    if len(sample) < 4 or not sample.count(0):
        return None
    even, odd = sample[0::2].count(0), sample[1::2].count(0)
    if odd > len(sample) * 0.3:
        return "utf-16-le"
    return "utf-16-be" if even > len(sample) * 0.3 else None


def _checked(text: str) -> str:
    if "\0" in text:
        raise Unreadable("This is no table: send a CSV file, or a workbook saved as .xlsx.")
    return text


def _rows(text: str) -> list[Row]:
    first, _, rest = text.partition("\n")
    if first.strip().lower().startswith("sep=") and len(first.strip()) == 5:
        delimiter, text = first.strip()[4], rest
    else:
        delimiter = delimiter_of(text)
    rows: list[Row] = []
    try:
        for row in csv.reader(io.StringIO(text, newline=""), delimiter=delimiter):
            if len(rows) > MOST_ROWS:
                raise Unreadable(f"This table has more than {MOST_ROWS:,} rows: split it and send the parts.")
            if len(row) > MOST_COLUMNS:
                raise Unreadable(f"This table has more than {MOST_COLUMNS} columns: send those that matter.")
            rows.append(trimmed([unguarded(cell) for cell in row]))
    except csv.Error as error:
        raise Unreadable(
            f"Line {len(rows) + 1} cannot be read ({error}): a quotation mark may be left open there."
        ) from error
    return rows


def delimiter_of(text: str) -> str:
    """The sign that cuts most lines into the same number of cells, more than one."""
    sample = "\n".join(text.splitlines()[:LOOKED_AT])
    return max(DELIMITERS, key=lambda sign: _evenness(sample, sign))


def _evenness(sample: str, sign: str) -> tuple[float, int]:
    try:
        widths = Counter(len(row) for row in csv.reader(io.StringIO(sample), delimiter=sign) if len(row) > 1)
    except csv.Error:
        return (0.0, 0)
    if not widths:
        return (0.0, 0)
    width, lines = widths.most_common(1)[0]
    return (float(lines), width)
