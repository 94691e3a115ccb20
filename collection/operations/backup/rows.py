"""Rows as lines of JSON, the same from either database, and rows again."""

import base64
import json
from collections.abc import Iterable, Iterator
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db import connection
from django.db.models import JSONField, Model
from django.utils.duration import duration_string

from collection.operations.backup.tables import fields_of

AT_ONCE = 1000


def rows_of(model: type[Model]) -> Iterator[tuple[Any, ...]]:
    """Every row of a table, by its key; never the whole table in memory."""
    names = [field.attname for field in fields_of(model)]
    return model._base_manager.order_by("pk").values_list(*names).iterator(chunk_size=AT_ONCE)


def as_line(row: Iterable[Any]) -> bytes:
    """One row, whole to the microsecond."""
    return json.dumps(list(row), default=_plain, ensure_ascii=False, separators=(",", ":")).encode() + b"\n"


def _plain(value: Any) -> Any:
    if isinstance(value, datetime | date | time):
        return value.isoformat()
    if isinstance(value, timedelta):
        return duration_string(value)
    if isinstance(value, bytes | memoryview):
        return base64.b64encode(bytes(value)).decode()
    if isinstance(value, UUID | Decimal):
        return str(value)
    raise TypeError(f"a {type(value).__name__} has no form in a backup")


def lines_in(chunks: Iterable[bytes]) -> Iterator[bytes]:
    """The lines of a member that comes in pieces."""
    rest = b""
    for chunk in chunks:
        *whole, rest = (rest + chunk).split(b"\n")
        yield from whole


def store(model: type[Model], columns: list[str], lines: Iterable[bytes]) -> int:
    """Put the lines into the table just as they are: no default, no automatic date; how many."""
    fields = {field.column: field for field in fields_of(model)}
    chosen = [fields[column] for column in columns]
    quote = connection.ops.quote_name
    statement = (
        f"INSERT INTO {quote(model._meta.db_table)} ({', '.join(map(quote, columns))}) "  # noqa: S608 - our own names
        f"VALUES ({', '.join(['%s'] * len(columns))})"
    )
    count, waiting = 0, []
    with connection.cursor() as cursor:
        for line in lines:
            waiting.append([_stored(*pair) for pair in zip(chosen, json.loads(line), strict=True)])
            count += 1
            if len(waiting) == AT_ONCE:
                cursor.executemany(statement, waiting)
                waiting = []
        if waiting:
            cursor.executemany(statement, waiting)
    return count


def _stored(field: Any, value: Any) -> Any:
    if value is None and isinstance(field, JSONField) and not field.null:
        return connection.ops.adapt_json_value(None, None)  # the JSON value null, not an empty column
    return field.get_db_prep_save(field.to_python(value), connection)
