"""Tables that only grow: the database itself refuses to change or delete what stands in them.

Used by migrations. A later migration that rebuilds a guarded table on SQLite drops its triggers
without a word: it must call ``guard`` again for that table (the tests look at every one).
"""

from collections.abc import Callable, Collection, Iterable, Iterator
from typing import Any

MESSAGE = "the care log only grows: record a correction instead"

# What SQLite's REPLACE would silently overwrite: it deletes the row that is in the way without
# asking the DELETE trigger (sqlite.org, ON CONFLICT: REPLACE).
UNIQUE: dict[str, tuple[tuple[str, ...], ...]] = {
    "collection_entry": (("id",), ("vehicle_id", "idempotency_key"), ("corrects_id",)),
    "collection_reading": (("id",),),
    "collection_evidence": (("id",), ("vehicle_id", "idempotency_key"), ("corrects_id",), ("link_id",)),
    "collection_attachment": (("id",), ("entry_id", "number")),
    "collection_pseudonym": (("id",), ("person_id",), ("token",)),
    "collection_chain": (("id",), ("vehicle_id",), ("organisation_id", "subject")),
    "collection_link": (("id",), ("chain_id", "seq"), ("entry_id",)),
    "collection_recordentry": (("id",), ("link_id",)),
    "collection_settingentry": (("id",), ("link_id",)),
    "collection_anchor": (("id",), ("organisation_id", "number")),
    "collection_anchoredhead": (("id",), ("anchor_id", "place"), ("anchor_id", "chain_id")),
    "collection_broughtstatement": (("id",), ("chain_id", "seq", "signature")),
}


def sqlite_triggers(table: str, columns: Collection[str] | None = None) -> dict[str, str]:
    """Name and statement of each trigger on SQLite; ``columns``: those that the table has by now."""
    stop = f"BEGIN SELECT RAISE(ABORT, '{MESSAGE}'); END"
    there = " OR ".join(
        "(" + " AND ".join(f"{column} = NEW.{column}" for column in unique) + ")"
        for unique in UNIQUE[table]
        if columns is None or set(unique) <= set(columns)
    )
    return {
        f"{table}_no_update": f"BEFORE UPDATE ON {table} {stop}",
        f"{table}_no_delete": f"BEFORE DELETE ON {table} {stop}",
        f"{table}_no_replace": (
            f"BEFORE INSERT ON {table} WHEN EXISTS (SELECT 1 FROM {table} WHERE {there}) {stop}"  # noqa: S608 - names of our own
        ),
    }


def postgresql_triggers(table: str) -> dict[str, str]:
    """The same on PostgreSQL, whose own weapon is TRUNCATE; functions are made by ``functions``."""
    each_row = "FOR EACH ROW EXECUTE FUNCTION collection_only_grows()"
    return {
        f"{table}_no_update": f"BEFORE UPDATE ON {table} {each_row}",
        f"{table}_no_delete": f"BEFORE DELETE ON {table} {each_row}",
        f"{table}_no_truncate": (
            f"BEFORE TRUNCATE ON {table} FOR EACH STATEMENT EXECUTE FUNCTION collection_keeps_rows()"
        ),
    }


TRIGGERS: dict[str, Callable[[str], dict[str, str]]] = {
    "sqlite": sqlite_triggers,
    "postgresql": postgresql_triggers,
}

KEEPS_ROWS = f"""
CREATE OR REPLACE FUNCTION collection_keeps_rows() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE filled boolean;
BEGIN
  EXECUTE format('SELECT EXISTS (SELECT 1 FROM %I.%I)', TG_TABLE_SCHEMA, TG_TABLE_NAME) INTO filled;
  IF filled THEN RAISE EXCEPTION '{MESSAGE}'; END IF;
  RETURN NULL;
END $$
"""  # noqa: S608 - no value of anybody's stands in it


def guard(editor: Any, tables: Iterable[str]) -> None:
    """Set every trigger of the tables, whether or not it stood before."""
    vendor = editor.connection.vendor
    if vendor == "postgresql":
        editor.execute(KEEPS_ROWS, None)
    unguard(editor, tables)
    for table in tables:
        for name, rest in _by_now(editor, table).items():
            editor.execute(f"CREATE TRIGGER {name} {rest}", None)


def _by_now(editor: Any, table: str) -> dict[str, str]:
    """The triggers for the columns that stand: an early migration guards what a later one adds to."""
    if editor.connection.vendor != "sqlite":
        return postgresql_triggers(table)
    with editor.connection.cursor() as cursor:
        described = editor.connection.introspection.get_table_description(cursor, table)
    return sqlite_triggers(table, [column.name for column in described])


def unguard(editor: Any, tables: Iterable[str]) -> None:
    """Take the triggers away: for a migration that must rebuild a table, and for tests of the verifier."""
    for statement in _drops(editor.connection.vendor, tables):
        editor.execute(statement, None)


def _drops(vendor: str, tables: Iterable[str]) -> Iterator[str]:
    for table in tables:
        for name in TRIGGERS[vendor](table):
            yield f"DROP TRIGGER IF EXISTS {name}" + (f" ON {table}" if vendor == "postgresql" else "")
