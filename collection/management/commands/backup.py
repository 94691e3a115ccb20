"""``manage.py backup``: the whole installation as one file, while it runs; or a look at such a file."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.db import DatabaseError
from django.utils import timezone

from collection.operations.actions.backups import back_up, reason_of
from collection.operations.backup.archive import BackupFault, Manifest, checked
from collection.operations.backup.keep import BY_HAND, name_for
from collection.operations.backup.load import loadable
from collection.operations.backup.sealed import new_identity, opened
from collection.operations.backup.wording import SEALED, contents, lacks, secrets_in


class Command(BaseCommand):
    """Take a backup of rows, attachments and keys as they are at one moment, and read it back."""

    help = "Backs up the whole installation into one file, while the site runs; --check looks at such a file."
    requires_system_checks: list[str] = []  # noqa: RUF012  # Django declares it so

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Where to, or what to check."""
        parser.add_argument(
            "target", nargs="?", help="a folder, or the file to write (the folder LONGSTAND_BACKUPS)"
        )
        parser.add_argument("--check", metavar="FILE", help="check a backup without restoring it")
        parser.add_argument(
            "--identity", type=Path, metavar="FILE", help="the private key of the encrypted backup to check"
        )
        parser.add_argument(
            "--new-identity", type=Path, metavar="FILE", help="make a pair of keys for encrypted backups"
        )

    def handle(self, *_args: Any, **options: Any) -> None:
        """Back up, or check; then say what it holds."""
        if options["new_identity"]:
            self.make_identity(options["new_identity"])
        elif options["check"]:
            self.check_file(Path(options["check"]), options["identity"])
        else:
            self.take(options["target"])

    def take(self, target: str | None) -> None:
        """Take a backup and say what is in it."""
        now = timezone.now()
        try:
            path, manifest = back_up(BY_HAND, now=now, path=_path(target, name_for(BY_HAND, now)))
        except (OSError, BackupFault) as error:
            raise CommandError(reason_of(error)) from error
        except DatabaseError as error:
            raise CommandError(f"The database did not answer: {error} No backup was made.") from error
        self.stdout.write(f"Backed up to {path}.")
        self.describe(manifest)
        self.stdout.write(SEALED if settings.BACKUP_RECIPIENTS else secrets_in(manifest))

    def make_identity(self, file: Path) -> None:
        """Write a private key and say what to do with both."""
        try:
            public = new_identity(file)
        except OSError as error:
            raise CommandError(f"--new-identity {file}: {error.strerror}. No key was made.") from error
        self.stdout.write(f"Set LONGSTAND_BACKUP_RECIPIENT={public}")
        self.stdout.write(f"{file} holds the private key. {SEALED}")

    def check_file(self, path: Path, identity: Path | None) -> None:
        """Read every byte of a backup and say what it is."""
        try:
            with opened(path, identity) as plain:
                manifest = checked(plain)
            loadable(manifest)
        except BackupFault as fault:
            raise CommandError(str(fault)) from fault
        self.stdout.write(f"{path} is whole, and this version can restore it.")
        self.describe(manifest)

    def describe(self, manifest: Manifest) -> None:
        """What it holds, and what it lacks."""
        for line in (contents(manifest), *lacks(manifest)):
            self.stdout.write(line)


def _path(target: str | None, name: str) -> Path:
    if not target:
        return Path(settings.BACKUP_DIR) / name
    path = Path(target)
    return path / name if path.is_dir() or target.endswith("/") else path
