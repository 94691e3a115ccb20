"""Rows of cells become rows of values, each fault kept with its row and its field."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from collection.spreadsheets.sheets import dates
from collection.spreadsheets.sheets.cells import Sheet
from collection.spreadsheets.sheets.fields import DATE, Field, Kind
from collection.spreadsheets.sheets.mapping import Mapping, rows_below
from collection.spreadsheets.sheets.values import BadCell, value_of
from collection.web.units import Edge


@dataclass
class Parsed:
    """One row: what its cells say by field, and what could not be read."""

    number: int  # as a spreadsheet counts
    values: dict[str, Any] = field(default_factory=dict)
    faults: list[tuple[str, str]] = field(default_factory=list)  # field, text
    notes: list[tuple[str, str]] = field(default_factory=list)  # what was taken to be so

    def take(self, of: Field, value: Any) -> None:
        """Keep a value; a date that is known to the month only is the first of it, and that is said."""
        if of.type != DATE:
            self.values[of.key] = value
            return
        self.values[of.key] = value.day
        if value.fine != dates.DAY:
            self.notes.append((of.label, f"only the {value.fine} is given: taken as {_day(value.day)}"))


def _day(day: date) -> str:
    return f"{day.day} {day:%B %Y}"


def parsed_rows(kind: Kind, sheet: Sheet, mapping: Mapping, edge: Edge) -> Iterator[Parsed]:
    """Every row beneath the headings that holds anything in a column that means something."""
    meant = [(at, use, kind.field(use.field)) for at, use in mapping.columns.items()]
    for number, cells in rows_below(sheet.rows, mapping):
        row = Parsed(number)
        for at, use, of in meant:
            cell = cells[at] if at < len(cells) else None
            if of is None or cell is None:
                continue
            try:
                value = value_of(of, use, cell, edge)
            except BadCell as fault:
                row.faults.append((of.key, str(fault)))
                continue
            if value is not None:
                row.take(of, value)
        if row.values or row.faults:
            yield row
