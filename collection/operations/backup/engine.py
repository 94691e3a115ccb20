"""The one of the two kinds of database that is set here."""

from types import ModuleType

from django.db import connection

from collection.operations.backup import file_database, schema_database


def engine() -> ModuleType:
    """The module that knows how to replace it."""
    return file_database if connection.vendor == "sqlite" else schema_database
