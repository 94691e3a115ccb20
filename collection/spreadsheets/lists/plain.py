"""Any rows of ours as a table: every field under its name, what they point to in words."""

import json
from collections.abc import Iterable, Iterator
from datetime import UTC, date, datetime, time
from typing import Any

from django.db import models
from django.db.models import QuerySet

from collection.people.queries.personal import SECRET
from collection.spreadsheets.sheets.cells import Cell, Row
from collection.spreadsheets.sheets.writing import Table

AT_ONCE = 500
Field = Any  # of a model; Django's own type is not told in full


def dump(title: str, rows: "QuerySet[Any]", names: Iterable[str] = ()) -> Table:
    """The rows; without names, every field but those that guard a sign-in or name rows by number."""
    fields = _fields(rows.model, tuple(names))
    return Table(title, [_heading(field) for field in fields], _rows(rows, fields))


def _fields(model: type[models.Model], names: tuple[str, ...]) -> list[Field]:
    meta: Any = model._meta
    if names:
        return [meta.get_field(name) for name in names]
    own = [field for field in meta.concrete_fields if field.name not in (*SECRET, "organisation")]
    return [field for field in own if not (field.primary_key and field.name == "id")] + list(
        meta.many_to_many
    )


def headings_of(model: type[models.Model]) -> dict[str, Field]:
    """The fields of a table by the headings under which they are dumped."""
    return {_heading(field): field for field in _fields(model, ())}


def _heading(field: Field) -> str:
    words = str(field.verbose_name)
    return words[:1].upper() + words[1:]


def _rows(rows: "QuerySet[Any]", fields: list[Field]) -> Iterator[Row]:
    near = [field.name for field in fields if field.many_to_one or field.one_to_one]
    many = [field.name for field in fields if field.many_to_many]
    whole = rows.select_related(*near).prefetch_related(*many) if near or many else rows
    for row in whole.iterator(chunk_size=AT_ONCE):
        yield [cell_of(row, field) for field in fields]


def cell_of(row: models.Model, field: Field) -> Cell:
    """One field of one row."""
    if field.many_to_many:
        return "; ".join(str(other) for other in getattr(row, field.name).all())
    value = getattr(row, field.name)
    if field.choices:
        return str(getattr(row, f"get_{field.name}_display")() or "")
    return plain(value)


def plain(value: Any) -> Cell:
    """A value as a cell: rows by their name, moments in UTC, lists and facts as JSON."""
    if value is None or isinstance(value, bool | int | float | str):
        return value
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat().replace("+00:00", "Z")
    if isinstance(value, date | time):
        return value
    return (
        json.dumps(value, ensure_ascii=False, default=str) if isinstance(value, list | dict) else str(value)
    )
