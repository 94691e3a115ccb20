"""What 0019 has moved is gone from its old places: no note lies open, no right hangs on a tick."""

from django.db import migrations, models


TABLES = ("collection_carnotes", "collection_sitenotes")


def overwrite_what_is_freed(apps, schema_editor):
    """SQLite leaves what is deleted in its free pages, unless asked."""
    if schema_editor.connection.vendor == "sqlite":
        with schema_editor.connection.cursor() as cursor:
            cursor.execute("PRAGMA secure_delete = ON").fetchall()


def write_tables_anew(apps, schema_editor):
    """PostgreSQL leaves dropped columns and old rows where they lay, until a table is written anew."""
    if schema_editor.connection.vendor == "postgresql":
        for table in TABLES:
            schema_editor.execute(f"CLUSTER {table} USING {table}_pkey")
            schema_editor.execute(f"ALTER TABLE {table} SET WITHOUT CLUSTER")


class Migration(migrations.Migration):
    dependencies = [("collection", "0020_operators_and_private_moved")]

    operations = [
        migrations.RunPython(overwrite_what_is_freed, migrations.RunPython.noop),
        migrations.RemoveField("carnotes", "keys_at"),
        migrations.RemoveField("carnotes", "alarm"),
        migrations.RemoveField("sitenotes", "address"),
        migrations.RemoveField("sitenotes", "way_in"),
        migrations.RemoveField("sitenotes", "alarm"),
        migrations.RunPython(write_tables_anew, migrations.RunPython.noop),
        migrations.RemoveField("membership", "sites"),
        migrations.AddField(
            "membership",
            "sites",
            models.ManyToManyField(
                related_name="staff",
                through="collection.KeyGrant",
                to="collection.site",
                verbose_name="keys at",
            ),
        ),
        migrations.RemoveField("person", "is_staff"),
        migrations.RemoveField("person", "is_superuser"),
        migrations.RemoveField("person", "groups"),
        migrations.RemoveField("person", "user_permissions"),
    ]
