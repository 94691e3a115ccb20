"""Which column means what, in which unit, its dates in which order: guessed, shown, changed, remembered."""

import hashlib
import json
from dataclasses import asdict, dataclass, field, replace
from typing import Any

from collection.spreadsheets.sheets import dates
from collection.spreadsheets.sheets.cells import Row, text_of
from collection.spreadsheets.sheets.dictionaries import normal
from collection.spreadsheets.sheets.shaping import Shape

TO_NOTE = "+note"  # what a column, or a word, that means nothing else is taken for: words of the note
TICK = "+tick"  # a column of ticks: the work that its heading names


@dataclass(frozen=True)
class Use:
    """What one column is taken for."""

    field: str
    unit: str = ""
    order: str = ""  # of day and month: see dates
    decimal: str = "point"
    sure: bool = True  # a heading that we know, not one that is merely like it
    unit_asked: bool = False  # nothing says the unit plainly: ``unit`` is at most a likely one
    year: int = 0  # of dates that have none; dates.ASK_YEAR where somebody must say it


@dataclass(frozen=True)
class Mapping:
    """How one table is to be read.

    ``fixed``: what holds for every row, by field. ``answers``: by field, what somebody said that a text
    means. ``edits``: cells as they were corrected, by row and column. ``aside``: rows that wait, and why.
    """

    shape: Shape
    columns: dict[int, Use] = field(default_factory=dict)
    fixed: dict[str, str] = field(default_factory=dict)
    answers: dict[str, dict[str, str]] = field(default_factory=dict)
    edits: dict[str, dict[str, str]] = field(default_factory=dict)
    aside: dict[str, str] = field(default_factory=dict)

    def plain(self) -> dict[str, Any]:
        """To be stored."""
        return asdict(self) | {"columns": {str(at): asdict(use) for at, use in self.columns.items()}}

    @classmethod
    def read(cls, kept: dict[str, Any]) -> "Mapping":
        """From what was stored."""
        columns = {int(at): Use(**use) for at, use in kept["columns"].items()}
        rest = {name: kept.get(name, {}) for name in ("fixed", "answers", "edits", "aside")}
        return cls(_shape(kept), columns, **rest)

    def answered(self, field_: str, texts: dict[str, str]) -> "Mapping":
        """The same with what somebody said since."""
        return replace(self, answers=self.answers | {field_: self.answers.get(field_, {}) | texts})

    def questions(self) -> list[tuple[int, str]]:
        """Columns of which something must be said before a row can be read: unit, order or year."""
        return [
            (at, asked)
            for at, use in self.columns.items()
            for asked, open_ in (
                ("unit", use.unit_asked),
                ("order", use.order == dates.ASK),
                ("year", use.year == dates.ASK_YEAR),
            )
            if open_
        ]


def _shape(kept: dict[str, Any]) -> Shape:
    """A table that was sent before shapes were kept is one sheet beneath one row of headings."""
    if "shape" not in kept:
        return Shape(((kept["sheet"], kept["header"]),))
    facts = kept["shape"]
    return Shape(**facts | {"sheets": tuple((name, header) for name, header in facts["sheets"])})


def signature(kind: str, headings: Row) -> str:
    """The same for tables with the same headings in the same order."""
    words = [normal(text_of(heading)) for heading in headings]
    return hashlib.sha256(json.dumps([kind, words]).encode()).hexdigest()
