"""The database itself refuses to change or delete care log entries and readings."""

from django.db import migrations

TABLES = ("collection_entry", "collection_reading")
MESSAGE = "the care log only grows: record a correction instead"


def _sqlite(table, event):
    return (
        f"CREATE TRIGGER {table}_no_{event.lower()} BEFORE {event} ON {table} "
        f"BEGIN SELECT RAISE(ABORT, '{MESSAGE}'); END"
    )


def _postgresql(table, event):
    return (
        f"CREATE TRIGGER {table}_no_{event.lower()} BEFORE {event} ON {table} "
        "FOR EACH ROW EXECUTE FUNCTION collection_only_grows()"
    )


def guard(apps, schema_editor):
    vendor = schema_editor.connection.vendor
    if vendor == "postgresql":
        schema_editor.execute(
            "CREATE FUNCTION collection_only_grows() RETURNS trigger LANGUAGE plpgsql AS "
            f"$$ BEGIN RAISE EXCEPTION '{MESSAGE}'; END $$"
        )
    make = {"sqlite": _sqlite, "postgresql": _postgresql}[vendor]
    for table in TABLES:
        for event in ("UPDATE", "DELETE"):
            schema_editor.execute(make(table, event))


def unguard(apps, schema_editor):
    vendor = schema_editor.connection.vendor
    for table in TABLES:
        for event in ("update", "delete"):
            where = f" ON {table}" if vendor == "postgresql" else ""
            schema_editor.execute(f"DROP TRIGGER {table}_no_{event}{where}")
    if vendor == "postgresql":
        schema_editor.execute("DROP FUNCTION collection_only_grows()")


class Migration(migrations.Migration):
    dependencies = [("collection", "0001_first")]

    operations = [migrations.RunPython(guard, unguard)]
