"""The database of an installation on PostgreSQL: is it there, in use, and how another takes its place."""

import time
from typing import Any

from django.db import connection, transaction

from collection.host.locks import PREPARING
from collection.operations.backup.in_use import InUse
from collection.operations.backup.journal import Journal
from collection.operations.backup.stage import Stage

SWAPPING = 0x4C4F4E49  # an advisory lock: whoever would know the outcome waits for it
LEAVING_SECONDS = 5.0  # policy: how long the server may take to see that a process is gone
LONGEST_WAIT = "60s"

# Whoever waits to start, or to restore, has done nothing yet and is not in the way.
OTHERS = """
SELECT count(*) FROM pg_stat_activity WHERE datname = current_database() AND usename = current_user
 AND backend_type = 'client backend' AND pid <> pg_backend_pid() AND pid NOT IN (
  SELECT pid FROM pg_locks WHERE locktype = 'advisory' AND classid = 0 AND objid = %s AND objsubid = 1)
"""
TABLES = (
    "SELECT quote_ident(relname) FROM pg_class JOIN pg_namespace n ON n.oid = relnamespace"
    " WHERE relkind IN ('r', 'p') AND nspname = %s ORDER BY 1"
)
FUNCTIONS = (
    "SELECT quote_ident(proname) || '(' || pg_get_function_identity_arguments(p.oid) || ')'"
    " FROM pg_proc p JOIN pg_namespace n ON n.oid = pronamespace"
    r" WHERE proname LIKE 'collection\_%%' AND nspname = %s ORDER BY 1"
)
MARKED = "django_migrations"  # the table that carries the name of the restore which brought it


def is_empty() -> bool:
    """Whether there is no installation here yet."""
    return not connection.introspection.table_names()


def refuse_if_in_use() -> None:
    """InUse while anybody else is connected to the database."""
    deadline = time.monotonic() + LEAVING_SECONDS
    while True:
        with connection.cursor() as cursor:
            cursor.execute(OTHERS, [PREPARING.number])
            (others,) = cursor.fetchone()
        if not others:
            return
        if time.monotonic() > deadline:
            raise InUse
        time.sleep(0.1)


def swap(journal: Journal) -> None:
    """Move tables in one transaction: whoever looks sees the old installation or the new one."""
    stage = Stage(journal.stage).schema
    refuse_if_in_use()
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("SET LOCAL synchronous_commit = on")
        cursor.execute("SELECT pg_advisory_xact_lock(%s)", [SWAPPING])
        cursor.execute("SET LOCAL lock_timeout = '10s'")
        here = _here(cursor)
        ours = _names(cursor, TABLES, stage)
        if not journal.was_empty:
            cursor.execute(f"CREATE SCHEMA {journal.kept_schema}")
            there = _names(cursor, TABLES, here)
            old = [name for name in there if name in ours or name.startswith("collection_")]
            _move(cursor, old, here, journal.kept_schema)
        _move(cursor, ours, stage, here)
        cursor.execute(f"COMMENT ON TABLE {_quoted(here)}.{MARKED} IS '{journal.stage}'")
        cursor.execute(f"DROP SCHEMA {stage}")  # refused if anything were left in it


def is_swapped(journal: Journal) -> bool:
    """Whether the new one has taken its place; a swap that a dead process left going is waited for."""
    connection.close()
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(f"SET LOCAL lock_timeout = '{LONGEST_WAIT}'")
        cursor.execute("SELECT pg_advisory_xact_lock(%s)", [SWAPPING])
        cursor.execute("SELECT obj_description(to_regclass(%s), 'pg_class')", [MARKED])
        return bool(cursor.fetchone() == (journal.stage,))


def undo(_journal: Journal) -> None:
    """Before the swap nothing but the stage was touched."""


def kept(journal: Journal) -> list[str]:
    """Where the old one is now."""
    return [] if journal.was_empty else [f"the schema {journal.kept_schema}"]


def _here(cursor: Any) -> str:
    cursor.execute("SELECT current_schema()")
    (here,) = cursor.fetchone()
    return str(here)


def _quoted(name: str) -> str:
    return connection.ops.quote_name(name)


def _names(cursor: Any, query: str, schema: str) -> list[str]:
    cursor.execute(query, [schema])
    return [name for (name,) in cursor.fetchall()]


def _move(cursor: Any, tables: list[str], source: str, target: str) -> None:
    for name in tables:
        cursor.execute(f"ALTER TABLE {_quoted(source)}.{name} SET SCHEMA {_quoted(target)}")
    for name in _names(cursor, FUNCTIONS, source):
        cursor.execute(f"ALTER FUNCTION {_quoted(source)}.{name} SET SCHEMA {_quoted(target)}")
