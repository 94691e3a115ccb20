"""The first guess of what each column means: by its heading, else by what stands beneath it."""

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import islice

from collection.spreadsheets.sheets import dates, dictionaries, numbers
from collection.spreadsheets.sheets.cells import Cell, Sheet, text_of
from collection.spreadsheets.sheets.dictionaries import normal
from collection.spreadsheets.sheets.fields import DATE, FLAG, MOMENT, NUMBER, TEXT, WHOLE, WORDS, Field, Kind
from collection.spreadsheets.sheets.headings import candidates, other_meanings, plate
from collection.spreadsheets.sheets.log_fields import KIND_WORDS
from collection.spreadsheets.sheets.mapping import TICK, Mapping, Use
from collection.spreadsheets.sheets.shaping import ACROSS, NO_HEADINGS, SHEET, VALUE, Shape, Table, table_of
from collection.spreadsheets.sheets.units import (
    ASKED,
    gallons_in_heading,
    likely_unit,
    own_unit,
    stored_unit,
    unit_in_heading,
    unit_named,
)
from collection.spreadsheets.sheets.work_words import phrases, understood
from collection.web.units import Edge
from scheduler.vocabulary.units import UNITS

MOST = 0.6  # of the cells must speak for what a heading does not say
SAMPLE = 400  # cells of a column that are looked at for its content
_NAME = re.compile(r"\b(18[89]\d|19\d\d|20\d\d)\b.*[^\W\d]{3}|[^\W\d]{3}.*\b(18[89]\d|19\d\d|20\d\d)\b")


@dataclass(frozen=True)
class Known:
    """What helps to understand cells: the reader's units, and how the organisation's cars are known."""

    edge: Edge
    registrations: frozenset[str] = frozenset()  # without blanks, in capitals
    names: frozenset[str] = frozenset()  # of cars, as ``normal`` has them

    def is_car(self, text: str) -> bool:
        """Whether one of the organisation's cars is called so."""
        return plate(text) in self.registrations or normal(text) in self.names


def guess(sheets: Sequence[Sheet], shape: Shape, kind: Kind, known: Known) -> Mapping:
    """Each column's most likely meaning; no meaning is given twice."""
    table = table_of(sheets, shape)
    width = max([len(table.headings), *(len(row) for _, row in table.rows)], default=0)
    headed = {at: text_of(table.headings[at]) if at < len(table.headings) else "" for at in range(width)}
    cells = {at: column_of(table, at) for at in range(width)}
    columns = _by_shape(table, shape, sheets, kind, cells)
    columns |= _by_ticks(headed, cells, columns, kind)
    columns |= _by_heading(
        {at: text for at, text in headed.items() if at not in columns}, cells, columns, kind
    )
    columns |= _by_content(cells, columns, kind, known)
    if shape.header == NO_HEADINGS:
        columns |= _words_left(cells, columns, kind)
    return Mapping(
        shape,
        {at: refined(use, kind, headed[at], cells[at], known.edge) for at, use in sorted(columns.items())},
    )


def column_of(table: Table, column: int) -> list[Cell]:
    """What stands in a column, without its empty cells."""
    return [row[column] for _, row in table.rows if column < len(row) and row[column] is not None]


def _words_left(cells: dict[int, list[Cell]], columns: dict[int, Use], kind: Kind) -> dict[int, Use]:
    """The first column of words that nothing names is the note."""
    note = next(field for field in kind.fields if field.key in ("note", "notes"))
    wordy = (
        at
        for at, values in cells.items()
        if at not in columns and values and _share(values, lambda cell: " " in text_of(cell)) >= MOST
    )
    return {at: Use(note.key, sure=False) for at in islice(wordy, 1)}


def _by_ticks(
    headed: dict[int, str], cells: dict[int, list[Cell]], before: dict[int, Use], kind: Kind
) -> dict[int, Use]:
    """Columns of ticks under the name of a kind of work."""
    if not kind.field("kind"):
        return {}
    return {
        at: Use(TICK)
        for at, text in headed.items()
        if at not in before
        and cells[at]
        and normal(text) in phrases()
        and not any(field.type in (FLAG, WORDS, TEXT) for field, _ in candidates(text, kind)[:1])
        and all(text_of(cell).casefold() in dictionaries.flags() for cell in cells[at])
    }


def _meant(text: str, cells: list[Cell], kind: Kind) -> list[tuple[Field, float]]:
    """What a heading may mean; of a word that means several things, what the cells beneath it are."""
    means = candidates(text, kind)
    others = other_meanings(text, kind)
    if len(others) < 2 or not cells:
        return means
    fits = [field for field in others if _fits(field, cells)]
    return (
        [(fits[0], 1.0)] if fits and fits[0] is not means[0][0] and not _fits(means[0][0], cells) else means
    )


def _fits(field: Field, cells: list[Cell]) -> bool:
    """Whether most cells can be of a field's type."""
    some = cells[:SAMPLE]
    are_dates = _share(some, dates.looks_like_a_date) >= MOST
    are_figures = _share(some, lambda cell: _figure(cell) is not None) >= MOST
    if field.type in (DATE, MOMENT):
        return are_dates
    return are_figures if field.type in (NUMBER, WHOLE) else not (are_dates or are_figures)


def _by_heading(
    headed: dict[int, str], cells: dict[int, list[Cell]], before: dict[int, Use], kind: Kind
) -> dict[int, Use]:
    scored = sorted(
        (
            (score, -at, field)
            for at, text in headed.items()
            for field, score in _meant(text, cells[at], kind)
        ),
        key=lambda it: (-it[0], -it[1]),
    )
    columns: dict[int, Use] = {}
    taken = {use.field for use in before.values()}
    for score, minus, field in scored:
        if -minus not in columns and field.key not in taken:
            columns[-minus] = Use(field.key, sure=score > 0.97)
            taken.add(field.key)
    return columns


def _by_shape(
    table: Table, shape: Shape, sheets: Sequence[Sheet], kind: Kind, cells: dict[int, list[Cell]]
) -> dict[int, Use]:
    """What stood across the top, and the name of the sheet; the values by what the sheet is called."""
    columns: dict[int, Use] = {}
    for at, heading in enumerate(table.headings):
        if shape.across and heading == ACROSS and at == shape.across_from:
            columns[at] = Use(shape.across)
        elif shape.across and heading == VALUE and at == shape.across_from + 1:
            if field := _value_field(shape, sheets, kind, cells[at]):
                columns[at] = Use(field.key, sure=False)
        elif shape.sheet_is and heading == SHEET and at == len(table.headings) - 1:
            columns[at] = Use(shape.sheet_is, sure=False)
    return columns


def _value_field(shape: Shape, sheets: Sequence[Sheet], kind: Kind, cells: list[Cell]) -> Field | None:
    """What the body of a table with dates across holds: by its title or the sheet's name, else its cells."""
    name = shape.sheets[0][0]
    sheet = next(sheet for sheet in sheets if sheet.name == name)
    above = sheet.rows[: max(shape.header, 0)]
    titles = [name, *(text_of(row[0]) for row in above if row and isinstance(row[0], str))]
    for words in (it for title in titles for it in (title, *re.findall(r"[^\W\d_]+", title))):
        field = next((field for field, score in candidates(words, kind) if score > 0.97), None)
        if field is not None and field.key.startswith(("r.", "d.")):
            return field
    volts = [value for cell in cells if (value := _figure(cell)) is not None]
    if len(volts) >= MOST * len(cells) and volts:
        return kind.field("r.rested_volts") if all(1 < value < 32 for value in volts) else None
    return kind.field("kind") if cells and _share(cells, _is_work) >= MOST else kind.field("note")


def _figure(cell: Cell) -> float | None:
    if isinstance(cell, int | float) and not isinstance(cell, bool):
        return float(cell)
    parts = numbers.split_unit(cell) if isinstance(cell, str) else None
    try:
        return numbers.number(parts[0], numbers.decimal_sign([parts[0]])) if parts else None
    except ValueError:
        return None


def refined(use: Use, kind: Kind, heading: str, cells: list[Cell], edge: Edge) -> Use:
    """The same use with its unit, its order of day and month, its year, and its decimal sign."""
    field = kind.field(use.field)
    if field is None:
        return use
    if field.type in (DATE, MOMENT):
        year = dates.ASK_YEAR if any(dates.lacks_year(cell) for cell in cells) else 0
        return replace(use, order=dates.date_order(cells), year=use.year or year)
    if field.type not in (NUMBER, WHOLE):
        return use
    sign = numbers.decimal_sign(cell for cell in cells if isinstance(cell, str))
    unit, asked = _unit(field, heading, cells, sign, edge)
    return replace(use, unit=unit, unit_asked=asked, decimal=sign)


def _unit(field: Field, heading: str, cells: list[Cell], sign: str, edge: Edge) -> tuple[str, bool]:
    """The unit of a column, and whether it must be asked for since nothing says it plainly."""
    if field.unit not in UNITS:
        return "", False
    bare = [value for cell in cells if (value := _bare(cell, sign)) is not None]
    said = unit_in_heading(field.unit, heading)
    if said:
        return said.name, False
    if gallons_in_heading(field.unit, heading):
        return "", True
    own, stored = own_unit(field.unit, edge), stored_unit(field.unit)
    likely = likely_unit(field.unit, bare)
    unit = likely or own or stored
    asked = bool(bare) and field.unit in ASKED and likely is None
    return unit.name if unit else "", asked


def _bare(cell: Cell, sign: str) -> float | None:
    """The figures of a cell that says no unit."""
    if isinstance(cell, int | float) and not isinstance(cell, bool):
        return float(cell)
    parts = numbers.split_unit(cell) if isinstance(cell, str) else None
    try:
        return numbers.number(parts[0], sign) if parts and not parts[1] else None
    except ValueError:
        return None


def _by_content(
    cells: dict[int, list[Cell]], columns: dict[int, Use], kind: Kind, known: Known
) -> dict[int, Use]:
    """Columns whose heading says nothing and whose cells do."""
    uses: dict[int, Use] = {}
    for column, values in cells.items():
        if column in columns or not values:
            continue
        taken = {use.field for use in (*columns.values(), *uses.values())}
        for key, speaks in _SPEAKING.items():
            if key in taken or not kind.field(key):
                continue
            if sum(speaks(cell, known) for cell in values[:SAMPLE]) >= MOST * len(values[:SAMPLE]):
                uses[column] = Use(key, sure=False)
                break
    return uses


def _share(cells: Sequence[Cell], fits: Callable[[Cell], bool]) -> float:
    return sum(map(fits, cells)) / len(cells)


def _is_work(cell: Cell) -> bool:
    text = text_of(cell).casefold()
    if text in KIND_WORDS or normal(text) in dictionaries.work():
        return True
    named = understood(text_of(cell)) if isinstance(cell, str) and any(map(str.isalpha, text)) else None
    return named is not None and bool(named.works) and not named.left and _is_more_than_volts(text)


def _is_more_than_volts(text: str) -> bool:
    """A column of nothing but volts is one of figures."""
    parts = numbers.split_unit(text)
    return parts is None or unit_named("V", parts[1]) is None


def _is_chassis(cell: Cell, _known: Known) -> bool:
    text = text_of(cell)
    return len(text) == 17 and text.isalnum() and not text.isalpha()


def _is_volts(cell: Cell, _known: Known) -> bool:
    parts = numbers.split_unit(cell) if isinstance(cell, str) else None
    if parts and parts[1]:
        return unit_named("V", parts[1]) is not None
    value = _figure(cell)
    return value is not None and 10.0 < value < 15.0 and not value.is_integer()


# What the cells of a column without a heading show, in the order in which it is asked.
_SPEAKING: dict[str, Callable[[Cell, Known], bool]] = {
    "done_at": lambda cell, _known: dates.looks_like_a_date(cell),
    "car.registration": lambda cell, known: plate(text_of(cell)) in known.registrations,
    "car.name": lambda cell, known: normal(text_of(cell)) in known.names,
    "kind": lambda cell, _known: _is_work(cell),
    "chassis_number": _is_chassis,
    "clock": lambda cell, _known: ":" in text_of(cell) and len(text_of(cell)) <= 8,
    "r.rested_volts": _is_volts,
    "name": lambda cell, _known: isinstance(cell, str) and bool(_NAME.search(cell)),
}
