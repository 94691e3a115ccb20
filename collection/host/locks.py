"""What may be done by one process at a time, of this machine and of every machine at one database."""

import fcntl
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from django.conf import settings
from django.core.management import CommandError
from django.db import DatabaseError, InterfaceError, connection

from collection.host.outage import outage_of

PREPARING = 0x4C4F4E47  # "LONG" in ASCII: the number of an advisory lock is ours to choose


@contextmanager
def preparing() -> Iterator[None]:
    """Wait for whoever is preparing database and files; a process that dies holds up nobody.

    CommandError, in words, where a disk or the database does not allow it.
    """
    try:
        with (Path(settings.DATA_DIR) / "preparing.lock").open("w") as file:
            fcntl.flock(file, fcntl.LOCK_EX)
            with _alone_at_the_database():
                yield
    except (DatabaseError, InterfaceError, OSError) as error:
        if outage := outage_of(error):
            raise CommandError(f"Longstand cannot start: {outage.log}. ({error})") from error
        raise


@contextmanager
def _alone_at_the_database() -> Iterator[None]:
    """Hold the lock by a connection of its own: ``loaddata`` closes the one that everything else uses."""
    if connection.vendor != "postgresql":
        yield
        return
    own = connection.copy()
    try:
        with own.cursor() as cursor:
            cursor.execute("SELECT pg_advisory_lock(%s)", [PREPARING])
        yield
    finally:
        own.close()  # and the lock goes with it
