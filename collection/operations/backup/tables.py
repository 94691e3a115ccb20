"""Which tables go into a backup, in the form that the database has now: an older form is read as it is.

Every table of every app but those left behind is in it, read by the models of the form that the database has.
Of files only attachments are: a test refuses another ``FileField``.
"""

from collections.abc import Iterable
from typing import Any, TypeAlias

from django.apps.registry import Apps
from django.db import connection
from django.db.migrations.executor import MigrationExecutor
from django.db.migrations.loader import MigrationLoader
from django.db.models import Model

from collection.operations.backup.archive import BackupFault

Key: TypeAlias = tuple[str, str]

# Left behind: who is signed in (people sign in again), and the worker's own queue and log, which the
# next start sets up anew.
LEFT_BEHIND_APPS = {"sessions", "usersessions", "django_q"}


def applied() -> list[Key]:
    """Every migration that this database has gone through; BackupFault where there is no installation."""
    keys = sorted(MigrationLoader(connection).applied_migrations)
    if not keys:
        raise BackupFault(
            "There is no installation in this database: look at LONGSTAND_DATA and LONGSTAND_DATABASE."
        )
    return keys


def known(migrations: Iterable[Key], whose: str) -> set[Key]:
    """The last of these migrations in each app; BackupFault where one is of a newer version."""
    loader = MigrationLoader(None)
    strange = sorted(key for key in migrations if key not in loader.disk_migrations)
    if strange:
        app, name = strange[-1]
        raise BackupFault(f"{whose} is of a newer Longstand ({app} {name} is not known here): upgrade first.")
    there = {key for key in migrations if key in loader.graph.nodes}
    return {key for key in there if not _followed(loader, key, there)}


def _followed(loader: MigrationLoader, key: Key, there: set[Key]) -> bool:
    return any(child.key[0] == key[0] and child.key in there for child in loader.graph.node_map[key].children)


def models_at(state: set[Key]) -> list[type[Model]]:
    """The models as they were at that state, those left behind aside, in a fixed order."""
    loader = MigrationLoader(None)
    apps: Apps = loader.project_state(sorted(state)).apps
    models = [
        model
        for model in apps.get_models(include_auto_created=True)
        if model._meta.managed and not model._meta.proxy and model._meta.app_label not in LEFT_BEHIND_APPS
    ]
    return sorted(models, key=lambda model: model._meta.db_table)


def bring_to(state: set[Key]) -> None:
    """Give an empty database the tables that it had at that state."""
    MigrationExecutor(connection).migrate(sorted(state))


def fields_of(model: type[Model]) -> list[Any]:
    """The columns of a table in their order."""
    return list(model._meta.concrete_fields)
