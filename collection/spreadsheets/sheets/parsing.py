"""Rows of cells become rows of values, each fault kept with its row and its field."""

from collections.abc import Iterator
from collections.abc import Mapping as Facts
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from collection.spreadsheets.sheets import dates, dictionaries
from collection.spreadsheets.sheets.cells import shown, text_of
from collection.spreadsheets.sheets.compound import split_cell
from collection.spreadsheets.sheets.fields import DATE, Field, Kind
from collection.spreadsheets.sheets.headings import heading_of
from collection.spreadsheets.sheets.mapping import TICK, TO_NOTE, Mapping, Use
from collection.spreadsheets.sheets.shaping import RowName, Table
from collection.spreadsheets.sheets.values import BadCell, value_of
from collection.web.units import Edge


@dataclass
class Parsed:
    """One row: what its cells say by field, and what could not be read."""

    number: RowName
    place: int = 0  # among the rows of the table, from 0
    values: dict[str, Any] = field(default_factory=dict)
    faults: list[tuple[str, str]] = field(default_factory=list)  # field, text
    notes: list[tuple[str, str]] = field(default_factory=list)  # what was taken to be so
    unknown: list[tuple[str, str]] = field(default_factory=list)  # field, a word that nobody knows

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


Words = Facts[str, Facts[str, str]]  # by field, what somebody said that a text means


@dataclass(frozen=True)
class Reader:
    """How the cells of a table are read: for whom, by which mapping, with which words of theirs."""

    kind: Kind
    mapping: Mapping
    edge: Edge
    words: Words

    @property
    def note_key(self) -> str:
        """The field of the note."""
        return "note" if self.kind.field("note") else "notes"

    def rows(self, table: Table) -> Iterator[Parsed]:
        """Every row that holds anything in a column that means something; those set aside are left out."""
        meant = [(at, use, self.kind.field(use.field)) for at, use in self.mapping.columns.items()]
        aside = set(self.mapping.aside)
        for place, (number, cells) in enumerate(table.rows):
            if str(number) in aside:
                continue
            row = Parsed(number, place)
            edits = self.mapping.edits.get(str(number), {})
            for at, use, of in meant:
                cell = edits.get(str(at), cells[at] if at < len(cells) else None)
                if cell is None or cell == "":
                    continue
                if use.field == TICK:
                    _tick(row, heading_of(table.headings, at), text_of(cell))
                elif of is None:
                    _add(row, self.note_key, f"{heading_of(table.headings, at)}: {text_of(cell)}")
                else:
                    self._take(row, of, use, cell)
            if row.values or row.faults:
                self._fix(row)
                yield row

    def _fix(self, row: Parsed) -> None:
        """What holds for every row, where the row says nothing else."""
        for key, text in self.mapping.fixed.items():
            of = self.kind.field(key)
            if of is not None and key not in row.values:
                self._take(row, of, Use(key), text)

    def _take(self, row: Parsed, of: Field, use: Use, cell: Any) -> None:
        text = text_of(cell)
        answer = self.words.get(of.key, {}).get(text)
        if answer == TO_NOTE:
            _add(row, self.note_key, f"{of.label}: {text}")
            return
        try:
            parts = split_cell(self.kind, of, use, cell) if answer is None else None
            if parts is not None:
                values = {key: value for key, value in parts.items() if key not in row.values}
                row.values |= values
                said = ", ".join(self._shown(key, value) for key, value in values.items())
                row.notes.append((of.label, f"“{text}” is understood as {said}"))
                return
            value = value_of(of, use, answer or cell)
        except BadCell as fault:
            row.faults.append((of.key, str(fault)))
            if isinstance(cell, str):
                row.unknown.append((of.key, text))
            return
        if value is not None:
            row.take(of, value)

    def _shown(self, key: str, value: Any) -> str:
        of = self.kind.field(key)
        if of is None:
            return f"{value}"
        unit = self.edge.unit(of.unit) if isinstance(value, float) and of.unit else None
        words = unit.format(value) if unit else dict(of.choices()).get(value, value) if of.choices else value
        return f"{of.label.lower()} {words}"


def _tick(row: Parsed, heading: str, text: str) -> None:
    """A tick is the work that its heading names; no tick is none, and any other word is to be asked."""
    said = dictionaries.flags().get(text.casefold())
    if said is None:
        row.faults.append(
            ("kind", f"“{shown(text)}” under {heading} is neither yes nor no: write one of them")
        )
    elif said:
        before = str(row.values.get("kind") or "")
        row.values["kind"] = f"{before}; {heading}".strip("; ")


def _add(row: Parsed, key: str, text: str) -> None:
    before = str(row.values.get(key) or "")
    row.values[key] = f"{before}\n{text}".strip()
