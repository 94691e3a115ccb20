"""One moment of the database, read while others go on writing; and the counters that give new keys."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.core.management.color import no_style
from django.db import connection, transaction
from django.db.models import AutoField, Model


@contextmanager
def snapshot() -> Iterator[None]:
    """Everything read inside is of one moment; writers are not held up."""
    if connection.vendor == "postgresql":
        with transaction.atomic():
            with connection.cursor() as cursor:
                cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
            yield
        return
    with connection.cursor() as cursor:
        cursor.execute("BEGIN DEFERRED")  # Django itself would begin IMMEDIATE, as a writer
        try:
            yield
        finally:
            cursor.execute("ROLLBACK")


def counters(models: list[type[Model]]) -> dict[str, int]:
    """The last key that each table has given, so that none is ever given twice."""
    counted = {model._meta.db_table: model._meta.pk.column for model in models if _counts(model)}
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute("SELECT name, seq FROM sqlite_sequence")
            return {name: seq for name, seq in cursor.fetchall() if name in counted}
        return dict(_last_of_each(cursor, counted))


def _last_of_each(cursor: Any, counted: dict[str, str | None]) -> Iterator[tuple[str, int]]:
    """On PostgreSQL each table's counter is a sequence; one that was never used has no last value."""
    for table, column in counted.items():
        cursor.execute(
            "SELECT s.last_value FROM pg_sequences s"
            " WHERE format('%%I.%%I', s.schemaname, s.sequencename) = pg_get_serial_sequence(%s, %s)",
            [connection.ops.quote_name(table), column],
        )
        (value,) = cursor.fetchone() or (None,)
        if value is not None:
            yield table, value


def set_counters(models: list[type[Model]], last: dict[str, int]) -> None:
    """Let each table go on counting where it stood, or after its highest key if that is higher."""
    counted = [model for model in models if _counts(model)]
    with connection.cursor() as cursor:
        for statement in connection.ops.sequence_reset_sql(no_style(), counted):
            cursor.execute(statement)
        for model in counted:
            table = model._meta.db_table
            if last.get(table):
                _raise(cursor, table, model._meta.pk.column, last[table])


def _raise(cursor: Any, table: str, column: str | None, last: int) -> None:
    if connection.vendor == "sqlite":
        cursor.execute("UPDATE sqlite_sequence SET seq = max(seq, %s) WHERE name = %s", [last, table])
        if not cursor.rowcount:
            cursor.execute("INSERT INTO sqlite_sequence (name, seq) VALUES (%s, %s)", [table, last])
        return
    name = "pg_get_serial_sequence(%s, %s)"
    quoted = connection.ops.quote_name(table)
    cursor.execute(
        f"SELECT setval({name}, greatest(%s, nextval({name}) - 1))",
        [quoted, column, last, quoted, column],
    )


def _counts(model: type[Model]) -> bool:
    return isinstance(model._meta.pk, AutoField)
