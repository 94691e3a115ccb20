"""Lists that a person sorts by any column: ``?sort=owner``, ``?sort=-owner`` the other way round; no script.

What else the address asks for is kept, but for the page: a list sorted anew begins at its beginning.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, TypeVar

from django.db.models import F, Model, QuerySet
from django.http import QueryDict

Row = TypeVar("Row", bound=Model)


@dataclass(frozen=True)
class Column:
    """A column and the fields, as the database names them, by which it sorts; without any it does not."""

    code: str
    title: str
    by: tuple[str, ...] = ()
    numeric: bool = False


@dataclass(frozen=True)
class Head:
    """A column's heading: where its link leads, and which way it sorts the list, as ``aria-sort`` has it."""

    title: str
    address: str
    sorted: str
    numeric: bool


class Sorting:
    """What the address asks of one list; ``name`` tells it from another list of the page."""

    def __init__(self, asked: QueryDict, columns: Sequence[Column], name: str = "sort") -> None:
        self.asked, self.columns, self.name = asked, columns, name
        wanted = asked.get(name, "")
        code = wanted.removeprefix("-")
        self.column = next((column for column in columns if column.code == code and column.by), None)
        self.last_first = self.column is not None and wanted.startswith("-")

    @property
    def heads(self) -> list[Head]:
        """The headings in the order of the columns."""
        return [self._head(column) for column in self.columns]

    def _head(self, column: Column) -> Head:
        at = column == self.column
        direction = ("descending" if self.last_first else "ascending") if at else ""
        return Head(column.title, self._address(column, at) if column.by else "", direction, column.numeric)

    def _address(self, column: Column, at: bool) -> str:
        query = self.asked.copy()
        query[self.name] = f"-{column.code}" if at and not self.last_first else column.code
        query.pop("page", None)
        return f"?{query.urlencode()}"

    def rows(self, rows: "QuerySet[Row, Any]") -> "QuerySet[Row, Any]":
        """The rows in the order asked for, in their own where none is; what is not known stands last."""
        if self.column is None:
            return rows
        fields = [F(name) for name in (*self.column.by, "pk")]
        if self.last_first:
            return rows.order_by(*(field.desc(nulls_last=True) for field in fields))
        return rows.order_by(*(field.asc(nulls_last=True) for field in fields))
