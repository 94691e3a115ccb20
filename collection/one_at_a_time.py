"""What may be done by one process at a time, of this machine and of every machine at one database."""

import fcntl
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from django.conf import settings
from django.core.management import CommandError
from django.db import DatabaseError, InterfaceError, connection

from collection.outage import outage_of

PREPARING = 0x4C4F4E47  # "LONG" in ASCII: the number of an advisory lock is ours to choose


@contextmanager
def preparing() -> Iterator[None]:
    """Wait for whoever is preparing database and files; a process that dies holds up nobody.

    CommandError, in words, where a disk or the database does not allow it.
    """
    try:
        with (Path(settings.DATA_DIR) / "preparing.lock").open("w") as file:
            fcntl.flock(file, fcntl.LOCK_EX)
            _ask("pg_advisory_lock")
            try:
                yield
            finally:
                _ask("pg_advisory_unlock")
    except (DatabaseError, InterfaceError, OSError) as error:
        if outage := outage_of(error):
            raise CommandError(f"Longstand cannot start: {outage.log}. ({error})") from error
        raise


def _ask(function: str) -> None:
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute(f"SELECT {function}(%s)", [PREPARING])
