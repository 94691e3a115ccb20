"""Where the table stands in a file: sheets one beneath the other, on its side, or with dates across.

Whatever its shape, what comes of it are one row of headings and rows of cells beneath it.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import zip_longest

from collection.spreadsheets.sheets import dictionaries
from collection.spreadsheets.sheets.cells import Cell, Row, Sheet, is_blank, text_of, trimmed
from collection.spreadsheets.sheets.dictionaries import normal
from collection.spreadsheets.sheets.letters import letters

RowName = int | str  # as a spreadsheet counts; with its sheet or its column where the number does not say it
NO_HEADINGS = -1
_MONTH = re.compile(r"[^\W\d_]{3,10}\.? \d{4}")
REPEATED, TOTALS = "the headings once more", "a line of totals"
ACROSS, VALUE, SHEET = "Across", "Value", "Sheet"  # headings of what no column of the file holds


@dataclass(frozen=True)
class Shape:
    """``sheets``: the name and the row of headings of each sheet that is read, or NO_HEADINGS.

    ``depth``: rows of headings that are joined. ``turned``: headings stand in a column. ``across``: the
    field that the headings from column ``across_from`` on tell. ``sheet_is``: what each sheet's name tells.
    """

    sheets: tuple[tuple[str, int], ...]
    depth: int = 1
    turned: bool = False
    across: str = ""
    across_from: int = 0
    sheet_is: str = ""

    @property
    def header(self) -> int:
        """The row of headings of the first sheet."""
        return self.sheets[0][1]


@dataclass(frozen=True)
class Table:
    """Headings, and the rows beneath them with their names; ``skipped``: rows left out, and what they are."""

    headings: Row
    rows: list[tuple[RowName, Row]]
    skipped: list[tuple[RowName, str]] = field(default_factory=list)


def turned(rows: Sequence[Row]) -> list[Row]:
    """Columns as rows."""
    return [trimmed(column) for column in zip_longest(*rows)]


def grid_of(sheet: Sheet, *, on_its_side: bool) -> list[Row]:
    """The rows of a sheet as they are to be read."""
    return turned(sheet.rows) if on_its_side else sheet.rows


def headings_of(grid: Sequence[Row], header: int, depth: int) -> Row:
    """The headings; of two rows, what stands above is carried to the right and put before what is beneath."""
    if header < 0 or header >= len(grid):
        return []
    below = grid[header]
    if depth < 2 or header == 0:
        return list(below)
    joined: Row = []
    group = ""
    above = grid[header - 1]
    for at in range(max(len(above), len(below))):
        own = text_of(below[at]) if at < len(below) else ""
        over = text_of(above[at]) if at < len(above) else ""
        group = over or group
        if not own:
            joined.append(over or None)
            continue
        if own.isdecimal() and len(own) <= 2 and _MONTH.fullmatch(group):
            joined.append(f"{own} {group}")  # days under the month that they are of
        else:
            joined.append(f"{group} {own}".strip() if group else own)
    return joined


def table_of(sheets: Sequence[Sheet], shape: Shape) -> Table:
    """The table that a shape makes of the sheets of a file."""
    by_name = {sheet.name: sheet for sheet in sheets}
    parts = [
        _part(by_name[name], header, shape, several=len(shape.sheets) > 1)
        for name, header in shape.sheets
        if name in by_name
    ]
    if len(parts) == 1:
        return parts[0]
    return _joined(parts)


def _part(sheet: Sheet, header: int, shape: Shape, *, several: bool) -> Table:
    grid = grid_of(sheet, on_its_side=shape.turned)
    headings = headings_of(grid, header, shape.depth)
    rows: list[tuple[RowName, Row]] = []
    skipped: list[tuple[RowName, str]] = []
    for number, row in enumerate(grid[header + 1 :], header + 1):
        if not any(not is_blank(cell) for cell in row):
            continue
        place: RowName = letters(number) if shape.turned else number + 1
        name = f"{sheet.name} {place}" if several else place
        if why := _why_skipped(row, headings):
            skipped.append((name, why))
        else:
            rows.append((name, row))
    if shape.across:
        headings, rows = _down(headings, rows, shape.across_from)
    if shape.sheet_is:
        headings = [*headings, *[None] * (_width(headings, rows) - len(headings)), SHEET]
        rows = [(name, [*_filled(row, len(headings) - 1), sheet.name]) for name, row in rows]
    return Table(headings, rows, skipped)


def _why_skipped(row: Row, headings: Row) -> str:
    """What a row is that is none of the table: its headings once more, or a line of totals."""
    if headings and trimmed(row) == trimmed(headings):
        return REPEATED
    first = next(cell for cell in row if not is_blank(cell))
    words = normal(first) if isinstance(first, str) else ""
    return TOTALS if words in dictionaries.totals() or words.split(" ")[0] in dictionaries.totals() else ""


def _width(headings: Row, rows: Sequence[tuple[RowName, Row]]) -> int:
    return max([len(headings), *(len(row) for _, row in rows)])


def _filled(row: Row, width: int) -> Row:
    return [*row[:width], *[None] * (width - len(row))]


def _down(
    headings: Row, rows: Sequence[tuple[RowName, Row]], start: int
) -> tuple[Row, list[tuple[RowName, Row]]]:
    """A row for each cell beneath the headings from column ``start`` on."""
    kept: list[tuple[RowName, Row]] = []
    for name, row in rows:
        for at in range(start, len(row)):
            over: Cell = headings[at] if at < len(headings) else None
            if not is_blank(row[at]) and not is_blank(over):
                kept.append((f"{name} {letters(at)}", [*_filled(row, start), over, row[at]]))
    return [*_filled(headings, start), ACROSS, VALUE], kept


def _joined(parts: Sequence[Table]) -> Table:
    """Tables one beneath the other; columns with the same heading are one."""
    columns: dict[str, int] = {}
    headings: Row = []
    rows: list[tuple[RowName, Row]] = []
    for part in parts:
        places = []
        for key, heading in _keys(part):
            if key not in columns:
                columns[key] = len(headings)
                headings.append(heading)
            places.append(columns[key])
        for name, row in part.rows:
            wide: Row = [None] * len(headings)
            for at, cell in zip(places, row, strict=False):
                wide[at] = cell
            rows.append((name, trimmed(wide)))
    return Table(headings, rows, [skipped for part in parts for skipped in part.skipped])


def _keys(part: Table) -> Iterator[tuple[str, Cell]]:
    """Each column's heading as it is compared; the second of one name is another column."""
    seen: dict[str, int] = {}
    for at in range(_width(part.headings, part.rows)):
        heading = part.headings[at] if at < len(part.headings) else None
        word = normal(text_of(heading)) or f"column {letters(at)}"
        seen[word] = seen.get(word, 0) + 1
        yield f"{word} {seen[word]}" if seen[word] > 1 else word, heading
