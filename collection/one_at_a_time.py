"""What may be done by one process at a time, of this machine and of every machine at one database."""

import fcntl
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from django.conf import settings
from django.db import connection

PREPARING = 0x4C4F4E47  # "LONG" in ASCII: the number of an advisory lock is ours to choose


@contextmanager
def preparing() -> Iterator[None]:
    """Wait for whoever is preparing database and files; a process that dies holds up nobody."""
    with (Path(settings.DATA_DIR) / "preparing.lock").open("w") as file:
        fcntl.flock(file, fcntl.LOCK_EX)
        _ask("pg_advisory_lock")
        try:
            yield
        finally:
            _ask("pg_advisory_unlock")


def _ask(function: str) -> None:
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute(f"SELECT {function}(%s)", [PREPARING])
