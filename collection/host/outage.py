"""What stops the site from keeping its record, told apart: disk full, read-only, busy, crowded, out of reach.

Everything else that goes wrong is a fault of ours and stays one.

Code that catches every exception must let an outage through (``outage_of``): no single record is at fault.
"""

import errno
import shutil
import sqlite3
from dataclasses import dataclass

from django.conf import settings
from django.db import DatabaseError, InterfaceError, OperationalError

ROOM_BYTES = 1_000_000  # policy: with less free, an error of reading or writing comes from a full disk


@dataclass(frozen=True)
class Outage:
    """Why nothing can be stored now: title, words for whoever waits, words for the log, HTTP status."""

    title: str
    says: str
    log: str
    status: int = 503


FULL = Outage(
    "The disk is full",
    "There is no room left on the machine that keeps the record. Tell whoever runs this installation; "
    "once they have made room it goes on by itself.",
    "the disk is full: make room where the data folder and the database lie",
    507,  # RFC 4918, 11.5: insufficient storage
)
READ_ONLY = Outage(
    "Nothing can be written now",
    "The machine that keeps the record lets us read but not write. Pages can still be read. Tell whoever "
    "runs this installation; once it may write again it goes on by itself.",
    "the data folder or the database is read-only: see the disk's own messages, and who owns the files",
)
BUSY = Outage(
    "The record is busy",
    "Something else has been writing to the record for long. Wait half a minute, then send it again.",
    "the database stayed locked: is a backup, a copy or another programme holding it?",
)
GONE = Outage(
    "The record is out of reach",
    "The database does not answer. Wait a minute, then try again; if it lasts, tell whoever runs this "
    "installation. Once it answers it goes on by itself.",
    "the database does not answer",
)
DAMAGED = Outage(
    "The record cannot be read",
    "The database says that its file is damaged. Tell whoever runs this installation before anybody writes "
    "anything more.",
    "the database file is damaged: stop the site, keep a copy of the file, restore the last backup",
)
CROWDED = Outage(
    "Many people are here at once",
    "There is no room for one more in this moment. Wait a few seconds, then try again.",
    "more requests at once than this machine has room for: LONGSTAND_WEB_PROCESSES gives more",
)
SLOW = Outage(
    "This took too long",
    "The site stopped before it was ready, so that others need not wait. Try again in a minute; if it lasts, "
    "tell whoever runs this installation.",
    "a request took longer than is given to one",
)


class TookTooLong(OperationalError):
    """A question to the database that was not put any more: the request's time was up."""


OF_FILES = {
    errno.ENOSPC: FULL,
    errno.EDQUOT: FULL,
    errno.EROFS: READ_ONLY,
    errno.EACCES: READ_ONLY,
    errno.EPERM: READ_ONLY,
    errno.EIO: GONE,
    errno.EMFILE: BUSY,
    errno.ENFILE: BUSY,
}
OF_SQLITE = {  # https://www.sqlite.org/rescode.html, primary result codes
    sqlite3.SQLITE_FULL: FULL,
    sqlite3.SQLITE_READONLY: READ_ONLY,
    sqlite3.SQLITE_PERM: READ_ONLY,
    sqlite3.SQLITE_BUSY: BUSY,
    sqlite3.SQLITE_LOCKED: BUSY,
    sqlite3.SQLITE_PROTOCOL: BUSY,
    sqlite3.SQLITE_IOERR: GONE,
    sqlite3.SQLITE_CANTOPEN: GONE,
    sqlite3.SQLITE_NOMEM: BUSY,
    sqlite3.SQLITE_CORRUPT: DAMAGED,
    sqlite3.SQLITE_NOTADB: DAMAGED,
}
# https://www.postgresql.org/docs/current/errcodes-appendix.html; a whole class by its first two characters
OF_POSTGRESQL = {
    "53100": FULL,
    "25006": READ_ONLY,
    "55P03": BUSY,
    "40P01": BUSY,
    "40001": BUSY,
    "53": BUSY,
    "08": GONE,
    "57": GONE,
    "58": GONE,
    "XX001": DAMAGED,
    "XX002": DAMAGED,
}


def outage_of(error: BaseException | None) -> Outage | None:
    """The outage that an exception tells of; None where it is a fault of ours."""
    if isinstance(error, TookTooLong):
        return SLOW
    if isinstance(error, DatabaseError | InterfaceError):
        return _of_database(error)
    if isinstance(error, OSError):
        return OF_FILES.get(error.errno or 0)
    return None


def _of_database(error: DatabaseError | InterfaceError) -> Outage | None:
    cause = error.__cause__
    if isinstance(cause, sqlite3.Error):
        kind = OF_SQLITE.get(getattr(cause, "sqlite_errorcode", 0) & 0xFF)
        return FULL if kind is GONE and _no_room() else kind
    state = getattr(cause, "sqlstate", None)
    if state:
        return OF_POSTGRESQL.get(state) or OF_POSTGRESQL.get(state[:2])
    return GONE if isinstance(error, OperationalError | InterfaceError) else None


def _no_room() -> bool:
    """SQLite calls it an error of the disk when its index of the write-ahead log cannot grow."""
    try:
        return shutil.disk_usage(settings.DATA_DIR).free < ROOM_BYTES
    except OSError:
        return False
