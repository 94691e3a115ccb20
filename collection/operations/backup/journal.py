"""What a restore writes down before it changes anything, so that the next start can finish or undo it."""

import json
from dataclasses import asdict, dataclass
from pathlib import Path

from django.conf import settings

from collection.host.atomic_files import PART, settle, write_whole
from collection.operations.backup.archive import BackupFault

FILE = "restore-journal.json"


@dataclass(frozen=True)
class Journal:
    """One restore: where it was built, when, over what."""

    stage: str
    stamp: str  # in the names of what is kept of before
    database: list[str]  # which: NAME, HOST, PORT
    was_empty: bool  # there was no installation before
    keys: list[str]  # files that the backup brings
    had: list[str]  # those of them that were here

    def kept(self, path: Path) -> Path:
        """Where what stood at a path is kept."""
        return path.with_name(f"{path.name}.before-restore-{self.stamp}")

    @property
    def kept_media(self) -> Path:
        """Where the files are kept that were in the media folder and are not in the backup."""
        return Path(settings.MEDIA_ROOT) / f"before-restore-{self.stamp}"

    @property
    def kept_schema(self) -> str:
        """Where the tables are kept, on PostgreSQL."""
        return f"longstand_before_restore_{self.stamp}"


def this_database() -> list[str]:
    """How the journal names the database that is set here: without user and password."""
    database = settings.DATABASES["default"]
    return [str(database[name]) for name in ("NAME", "HOST", "PORT")]


def write(journal: Journal) -> None:
    """Onto the disk, before anything changes."""
    write_whole(_file(), json.dumps(asdict(journal), indent=1).encode())


def read() -> Journal | None:
    """The journal of a restore that is under way or was broken off; BackupFault if it is not to be read."""
    try:
        return Journal(**json.loads(_file().read_bytes()))
    except FileNotFoundError:
        return None
    except (ValueError, TypeError) as error:
        raise BackupFault(
            f"{_file()} is not what a restore wrote: put back its copy, or report it."
        ) from error


def remove() -> None:
    """The last thing that a restore does, or whoever ends it."""
    _file().unlink(missing_ok=True)
    settle(_file().parent)


def sweep() -> None:
    """Remove halves of a journal that a kill left; only who holds the claim writes one."""
    for half in _file().parent.glob(f"{FILE}.*{PART}"):
        half.unlink()


def _file() -> Path:
    return Path(settings.DATA_DIR) / FILE
