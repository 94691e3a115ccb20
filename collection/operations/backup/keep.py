"""Names of backups, and which of the nightly ones have served their time. Only our own are ever touched."""

import re
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, date, datetime
from fcntl import LOCK_EX, LOCK_NB, flock
from pathlib import Path

from django.conf import settings

from collection.chain.canonical import digest
from collection.chain.signing import public_key
from collection.host.installation_key import installation_key
from collection.operations.backup.sealed import ENDING

BY_HAND, NIGHTLY, BEFORE_UPGRADE = "by-hand", "nightly", "before-upgrade"
NAME = re.compile(r"longstand-([0-9a-f]{8})-nightly-(\d{4}-\d\d-\d\d)T\d{6}Z\.zip(?:\.age)?")
LOCK = ".longstand-backup.lock"


@dataclass(frozen=True)
class Keep:
    """How many days, weeks and months keep their latest backup."""

    daily: int
    weekly: int
    monthly: int


def ours() -> str:
    """Eight digits that stand for this key and this database in the names of its backups.

    The database counts, since the demo shares the data folder, and its key, with a real installation.
    """
    database = settings.DATABASES["default"]
    where = [str(database[name]) for name in ("NAME", "HOST", "PORT")]
    return digest([public_key(installation_key()), *where])[:8]


def name_for(kind: str, now: datetime) -> str:
    """The name of a backup taken now; names of one kind sort by time."""
    ending = ENDING if settings.BACKUP_RECIPIENTS else ""
    return f"longstand-{ours()}-{kind}-{now.astimezone(UTC):%Y-%m-%dT%H%M%SZ}.zip{ending}"


def served(names: Iterable[str], whose: str, keep: Keep) -> list[str]:
    """Of an installation's nightly backups, those that no day, week or month keeps; never the newest."""
    nightly = sorted(name for name in names if (match := NAME.fullmatch(name)) and match[1] == whose)
    kept = set(nightly[-1:])
    for how_many, period in ((keep.daily, _day), (keep.weekly, _week), (keep.monthly, _month)):
        latest = {period(name): name for name in nightly}
        kept |= set(list(latest.values())[-how_many:] if how_many else [])
    return [name for name in nightly if name not in kept]


def _date(name: str) -> date:
    match = NAME.fullmatch(name)
    assert match, name  # noqa: S101 - only names that matched come here
    return date.fromisoformat(match[2])


_day: Callable[[str], object] = _date


def _week(name: str) -> object:
    return _date(name).isocalendar()[:2]


def _month(name: str) -> object:
    return (_date(name).year, _date(name).month)


def prune(folder: Path) -> list[str]:
    """Delete the nightly backups that have served; call it only after a newer one was found whole."""
    keep = Keep(settings.BACKUP_DAILY, settings.BACKUP_WEEKLY, settings.BACKUP_MONTHLY)
    gone = served((path.name for path in folder.iterdir() if path.is_file()), ours(), keep)
    for name in gone:
        (folder / name).unlink(missing_ok=True)
    return gone


@contextmanager
def alone(folder: Path) -> Iterator[bool]:
    """Whether nobody else takes a backup into this folder at the moment."""
    with (folder / LOCK).open("w") as lock:
        try:
            flock(lock, LOCK_EX | LOCK_NB)
        except BlockingIOError:
            yield False
            return
        yield True
