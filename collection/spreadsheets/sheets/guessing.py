"""The first guess of what each column means: by its heading, else by what stands beneath it."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from collection.spreadsheets.sheets import dates, numbers
from collection.spreadsheets.sheets.cells import Cell, Row, Sheet, text_of
from collection.spreadsheets.sheets.fields import CLOCK, DATE, MOMENT, NUMBER, WHOLE, Field, Kind
from collection.spreadsheets.sheets.headings import candidates, header_row, plate
from collection.spreadsheets.sheets.log_fields import KIND_WORDS
from collection.spreadsheets.sheets.mapping import Mapping, Use
from collection.spreadsheets.sheets.units import own_unit, stored_unit, unit_in_heading
from collection.web.units import Edge

MOST = 0.6  # of the cells must speak for what a heading does not say
SAMPLE = 400  # cells of a column that are looked at for its content


@dataclass(frozen=True)
class Known:
    """What helps to understand cells: the reader's units, and how the organisation's cars are known."""

    edge: Edge
    registrations: frozenset[str] = frozenset()  # without blanks, in capitals


def guess(sheet: Sheet, kind: Kind, known: Known, header: int | None = None) -> Mapping:
    """Each column's most likely meaning; no meaning is given twice."""
    at = header_row(sheet.rows, kind) if header is None else header
    headings = sheet.rows[at] if at < len(sheet.rows) else []
    width = max((len(row) for row in sheet.rows[at:]), default=0)
    scored = sorted(
        (
            (score, -column, field)
            for column in range(width)
            for field, score in candidates(text_of(headings[column]) if column < len(headings) else "", kind)
        ),
        key=lambda it: (-it[0], -it[1]),
    )
    columns: dict[int, Use] = {}
    taken: set[str] = set()
    for score, minus, field in scored:
        if -minus not in columns and field.key not in taken:
            columns[-minus] = Use(field.key, sure=score > 0.97)
            taken.add(field.key)
    cells = {column: column_of(sheet.rows[at + 1 :], column) for column in range(width)}
    columns |= _by_content(cells, columns, kind, known)
    headed = {column: text_of(headings[column]) if column < len(headings) else "" for column in columns}
    return Mapping(
        sheet.name,
        at,
        {
            column: refined(use, kind, headed[column], cells[column], known.edge)
            for column, use in sorted(columns.items())
        },
    )


def column_of(rows: Sequence[Row], column: int) -> list[Cell]:
    """What stands in a column, without its empty cells."""
    return [row[column] for row in rows if column < len(row) and row[column] is not None]


def refined(use: Use, kind: Kind, heading: str, cells: list[Cell], edge: Edge) -> Use:
    """The same use with its unit, its order of day and month, and its decimal sign."""
    field = kind.field(use.field)
    if field is None:
        return use
    if field.type in (DATE, MOMENT):
        return replace(use, order=dates.date_order(cells))
    if field.type not in (NUMBER, WHOLE):
        return use
    unit = unit_in_heading(field.unit, heading, edge) if field.unit else None
    unit = unit or own_unit(field.unit, edge) or stored_unit(field.unit)
    sign = numbers.decimal_sign(cell for cell in cells if isinstance(cell, str))
    return replace(use, unit=unit.name if unit else "", decimal=sign)


def _by_content(
    cells: dict[int, list[Cell]], columns: dict[int, Use], kind: Kind, known: Known
) -> dict[int, Use]:
    """Columns whose heading says nothing and whose cells do."""
    uses: dict[int, Use] = {}
    for column, values in cells.items():
        if column in columns or not values:
            continue
        taken = {use.field for use in (*columns.values(), *uses.values())}
        for field in kind.fields:
            if field.key not in taken and _speaks_for(field, values[:SAMPLE], known):
                uses[column] = Use(field.key, sure=False)
                break
    return uses


def _speaks_for(field: Field, values: list[Cell], known: Known) -> bool:
    texts = [text_of(value) for value in values]
    enough = MOST * len(texts)
    match field.key:
        case "done_at":
            return sum(dates.looks_like_a_date(value) for value in values) >= enough
        case "car.registration":
            return sum(plate(text) in known.registrations for text in texts) >= enough
        case "kind":
            return sum(text.casefold() in KIND_WORDS for text in texts) >= enough
        case "chassis_number":
            return sum(len(text) == 17 and text.isalnum() and not text.isalpha() for text in texts) >= enough
        case "clock":
            return field.type == CLOCK and sum(":" in text and len(text) <= 8 for text in texts) >= enough
    return False
