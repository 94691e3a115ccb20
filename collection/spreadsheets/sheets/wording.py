"""Stored values as cells: in a person's units and zone, or as they are stored."""

from dataclasses import dataclass
from datetime import UTC, datetime, tzinfo
from typing import Any

from collection.spreadsheets.sheets.cells import Cell
from collection.spreadsheets.sheets.fields import CHOICE, MOMENT, NUMBER, WORDS, Field
from collection.spreadsheets.sheets.units import own_unit, stored_unit
from collection.spreadsheets.sheets.values import join_words
from collection.web.units import Edge
from scheduler.vocabulary.units import Unit

FIGURES = 12  # what is left of a value after it was turned into another unit and rounded


@dataclass(frozen=True)
class CellFormat:
    """For whom cells are written; ``edge`` None: as stored, in SI, moments in UTC, choices by their keys."""

    edge: Edge | None
    zone: tzinfo = UTC

    def unit(self, field: Field) -> Unit | None:
        """The unit of the column."""
        return own_unit(field.unit, self.edge) if self.edge else stored_unit(field.unit)

    def heading(self, field: Field) -> str:
        """The field's name with its unit."""
        unit = self.unit(field)
        return f"{field.label}, {unit.name}" if unit else field.label

    def cell(self, field: Field, value: Any) -> Cell:
        """One value."""
        if value is None or value == "":
            return None
        if field.type == NUMBER:
            return self._number(field, float(value))
        if field.type == MOMENT:
            return self._moment(value)
        if field.type == WORDS:
            return join_words(value) if isinstance(value, list) else join_words([value])
        if field.type == CHOICE and self.edge and field.choices:
            return dict(field.choices()).get(str(value), str(value))
        cell: Cell = str(value) if field.type == CHOICE else value
        return cell

    def _number(self, field: Field, value: float) -> float:
        unit = self.unit(field)
        turned = unit.from_si(value) if unit else value
        return turned if turned == value else float(f"{turned:.{FIGURES}g}")

    def _moment(self, value: datetime) -> Cell:
        if self.edge is None:
            return value.astimezone(UTC).isoformat().replace("+00:00", "Z")
        return value.astimezone(self.zone).replace(tzinfo=None)
