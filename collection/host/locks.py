"""What may be done by one process at a time, of this machine and of every machine at one database."""

import fcntl
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from django.conf import settings
from django.core.management import CommandError
from django.db import DatabaseError, InterfaceError, connection

from collection.host.outage import outage_of


@dataclass(frozen=True)
class Claim:
    """What only one process may do: the name of its lock in the data folder, its number at the database."""

    name: str
    number: int  # of an advisory lock: ours to choose


PREPARING = Claim("preparing", 0x4C4F4E47)  # "LONG" in ASCII; a start, or a restore
REHEARSING = Claim("rehearsing", 0x4C4F4E48)


class Busy(Exception):
    """Somebody else is at it."""


@contextmanager
def preparing() -> Iterator[None]:
    """Wait for whoever is preparing database and files; a process that dies holds up nobody.

    CommandError, in words, where a disk or the database does not allow it.
    """
    try:
        with holding(PREPARING):
            yield
    except (DatabaseError, InterfaceError, OSError) as error:
        if outage := outage_of(error):
            raise CommandError(f"Longstand cannot start: {outage.log}. ({error})") from error
        raise


@contextmanager
def holding(claim: Claim, *, wait: bool = True) -> Iterator[None]:
    """Be the only one at it, of this machine and at this database; Busy if that would mean waiting."""
    with (Path(settings.DATA_DIR) / f"{claim.name}.lock").open("w") as file:
        try:
            fcntl.flock(file, fcntl.LOCK_EX | (0 if wait else fcntl.LOCK_NB))
        except BlockingIOError as error:
            raise Busy from error
        with _alone_at_the_database(claim.number, wait=wait):
            yield


@contextmanager
def _alone_at_the_database(number: int, *, wait: bool) -> Iterator[None]:
    """Hold the lock by a connection of its own: ``loaddata`` closes the one that everything else uses."""
    if connection.vendor != "postgresql":
        yield
        return
    own = connection.copy()
    try:
        with own.cursor() as cursor:
            cursor.execute(f"SELECT pg_{'' if wait else 'try_'}advisory_lock(%s)", [number])
            if cursor.fetchone() == (False,):
                raise Busy
        yield
    finally:
        own.close()  # and the lock goes with it
