"""The database: reachable, of the right form, whole, and still refusing to change what only grows."""

from collections.abc import Iterator

from django.db import DatabaseError, connection
from django.db.migrations.loader import MigrationLoader

from collection.models.append_only import TRIGGERS, UNIQUE
from collection.operations.doctor.finding import Finding, Look
from collection.operations.queries.operations import has_schema, pending_migrations

RESTORE = "Stop the site, keep a copy of the database, and restore the last backup: manage.py restore."


def reachable(_look: Look) -> Iterator[Finding]:
    """It answers."""
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1")
    except DatabaseError as error:
        yield Finding(
            f"The database does not answer: {str(error).splitlines()[0]}",
            "Start it, look at LONGSTAND_DATABASE, and at who may read and write its folder.",
        )


def migrations(_look: Look) -> Iterator[Finding]:
    """Its form is that of this version."""
    if not has_schema():
        yield Finding(
            "There is no installation in this database.",
            "Look at LONGSTAND_DATA and LONGSTAND_DATABASE; manage.py serve opens a new one, manage.py "
            "restore brings one back.",
        )
        return
    loader = MigrationLoader(connection)
    if strange := sorted(set(loader.applied_migrations) - set(loader.disk_migrations)):
        yield Finding(
            f"The database is of a newer version ({'.'.join(strange[-1])}).",
            "Install that version again, or restore a backup of this one.",
        )
    if pending := pending_migrations():
        yield Finding(
            f"The database waits for {len(pending)} steps of its upgrade, from {'.'.join(pending[0])} on.",
            "Start the site with manage.py serve, which takes a backup and upgrades.",
        )


def write_ahead(_look: Look) -> Iterator[Finding]:
    """On SQLite, pages can be read while somebody writes."""
    if connection.vendor == "sqlite" and (mode := _one("PRAGMA journal_mode")) not in ("wal", "memory"):
        yield Finding(
            f"SQLite keeps its journal as {mode!r}, not as a write-ahead log: readers wait for writers.",
            "Put the database on a disk of this machine, not on a shared folder.",
        )


def whole(look: Look) -> Iterator[Finding]:
    """It is not damaged."""
    if connection.vendor == "sqlite":
        yield from _whole_file(deep=look.deep)
        return
    invalid = _one(
        "SELECT string_agg(indexrelid::regclass::text, ', ') FROM pg_index"
        " JOIN pg_class c ON c.oid = indrelid WHERE NOT indisvalid AND pg_table_is_visible(c.oid)"
    )
    if invalid:
        yield Finding(f"Indexes are not valid: {invalid}.", "Run REINDEX on them in psql.")


def _whole_file(*, deep: bool) -> Iterator[Finding]:
    try:
        answer = str(_one(f"PRAGMA {'integrity_check' if deep else 'quick_check'}(1)"))
        loose = _one("SELECT count(*) FROM pragma_foreign_key_check")
    except DatabaseError as error:
        answer, loose = str(error), 0
    if answer != "ok":
        yield Finding(f"The database file is damaged: {answer.splitlines()[-1]}.", RESTORE)
    if loose:
        yield Finding(f"{loose} rows of the database point at rows that are gone.", RESTORE)


def triggers(_look: Look) -> Iterator[Finding]:
    """What only grows is still guarded."""
    there = _triggers()
    for table in UNIQUE:
        if missing := sorted(set(TRIGGERS[connection.vendor](table)) - there):
            yield Finding(
                f"The table {table} is not guarded against changes: {', '.join(missing)} missing or off.",
                "Verify the chains (manage.py doctor --deep), then restore the last backup: a restore sets "
                "every guard.",
            )


def _triggers() -> set[str]:
    query = {
        "sqlite": "SELECT name FROM sqlite_master WHERE type = 'trigger'",
        "postgresql": "SELECT tgname FROM pg_trigger"
        " WHERE tgenabled IN ('O', 'A') AND pg_table_is_visible(tgrelid)",
    }[connection.vendor]
    with connection.cursor() as cursor:
        cursor.execute(query)
        return {name for (name,) in cursor.fetchall()}


def _one(query: str) -> object:
    with connection.cursor() as cursor:
        cursor.execute(query)
        row = cursor.fetchone()
    return row[0] if row else None
