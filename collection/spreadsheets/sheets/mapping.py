"""Which column means what, in which unit, its dates in which order: guessed, shown, changed, remembered."""

import hashlib
import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass, field
from typing import Any

from collection.spreadsheets.sheets.cells import Row, text_of
from collection.spreadsheets.sheets.headings import normal


@dataclass(frozen=True)
class Use:
    """What one column is taken for."""

    field: str
    unit: str = ""
    order: str = ""  # of day and month: see dates
    decimal: str = "point"
    sure: bool = True  # a heading that we know, not one that is merely like it


@dataclass(frozen=True)
class Mapping:
    """How one table is to be read; ``cars`` are answers to names that fit several cars, or none."""

    sheet: str
    header: int
    columns: dict[int, Use] = field(default_factory=dict)
    cars: dict[str, int] = field(default_factory=dict)

    def plain(self) -> dict[str, Any]:
        """To be stored."""
        return {
            "sheet": self.sheet,
            "header": self.header,
            "cars": self.cars,
            "columns": {str(at): asdict(use) for at, use in self.columns.items()},
        }

    @classmethod
    def read(cls, kept: dict[str, Any]) -> "Mapping":
        """From what was stored."""
        columns = {int(at): Use(**use) for at, use in kept["columns"].items()}
        return cls(kept["sheet"], kept["header"], columns, kept["cars"])


def signature(kind: str, headings: Row) -> str:
    """The same for tables with the same headings in the same order."""
    words = [normal(text_of(heading)) for heading in headings]
    return hashlib.sha256(json.dumps([kind, words]).encode()).hexdigest()


def rows_below(rows: Sequence[Row], mapping: Mapping) -> list[tuple[int, Row]]:
    """The rows of the table with their numbers as a spreadsheet counts them; empty ones are left out."""
    below = enumerate(rows[mapping.header + 1 :], mapping.header + 2)
    return [(number, row) for number, row in below if any(row)]
