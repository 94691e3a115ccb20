"""``manage.py restore``: a whole installation from a backup, on the database that is set here."""

import argparse
import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import DatabaseError, connection
from django.utils import timezone

from collection.host import env
from collection.models import Attachment
from collection.operations.backup.archive import BackupFault, checked
from collection.operations.backup.load import load
from collection.operations.backup.place import is_empty, put_in_place, refuse_if_in_use
from collection.operations.backup.stage import build, new_stage
from collection.operations.backup.tables import known
from collection.operations.backup.wording import FAULTS_FOUND, contents, lacks, proved, upgraded
from collection.proof.check_all import faulty_attachments, prove


class Command(BaseCommand):
    """Check the backup, build it aside, look at all of it, then let it take its place in one step."""

    help = "Brings an installation back from a backup; ends with 1 if what came back is not sound."
    requires_system_checks: list[str] = []  # noqa: RUF012  # Django declares it so

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Which backup, and whether something may be replaced."""
        parser.add_argument("file", help="the backup")
        parser.add_argument(
            "--replace",
            action="store_true",
            help="put it in the place of the installation that is here, which is kept aside",
        )
        parser.add_argument("--stage", action="store_true", help=argparse.SUPPRESS)  # a restore calls itself

    def handle(self, *_args: Any, **options: Any) -> None:
        """Restore and report."""
        path = Path(options["file"])
        try:
            if options["stage"]:
                sys.exit(self.stage(path))
            sound = self.restore(path, replace=options["replace"])
        except BackupFault as fault:
            raise CommandError(str(fault)) from fault
        except OSError as error:
            raise CommandError(f"{error.strerror}: {error.filename}. Nothing was replaced.") from error
        if not sound:
            sys.exit(1)

    def restore(self, path: Path, *, replace: bool) -> bool:
        """Everything from the look at the file to the last word; whether all was found sound."""
        manifest = checked(path)
        known([(app, name) for app, name in manifest["migrations"]], "The backup")
        was_empty = is_empty()
        if not was_empty:
            if not replace:
                raise CommandError(
                    "There is an installation here already. --replace puts the backup in its place and keeps "
                    "it aside; or set LONGSTAND_DATA and LONGSTAND_DATABASE to empty places."
                )
            refuse_if_in_use()
        with new_stage() as stage:
            sound = build(stage, path)
            if not was_empty:
                refuse_if_in_use()
            kept = put_in_place(stage, manifest["keys"], was_empty=was_empty, now=timezone.now())
        self.say("Restored. Everybody signs in again; start the site with manage.py serve.")
        if kept:
            self.say(
                f"What was here before is kept as {', '.join(kept)}: delete it when you no longer need it."
            )
        if "secret-key" in manifest["keys"] and env.text("LONGSTAND_SECRET_KEY"):
            self.say(
                "LONGSTAND_SECRET_KEY is set and overrides the restored secret key: unset it, or second "
                "factors must be set up again."
            )
        return sound

    def stage(self, path: Path) -> int:
        """The part that runs with the stage as its whole installation; its exit code."""
        try:
            manifest = load(path)
        except DatabaseError as error:
            raise CommandError(f"{connection.vendor} refused what the backup holds: {error}") from error
        proof, faulty = prove(timezone.now()), faulty_attachments()
        for line in (
            contents(manifest),
            *upgraded(manifest),
            *lacks(manifest),
            *proved(proof.cars, proof.faults, Attachment.objects.count(), [_named(row) for row in faulty]),
        ):
            self.say(line)
        return FAULTS_FOUND if faulty or not proof.sound else 0

    def say(self, text: str) -> None:
        """One line to whoever watches."""
        self.stdout.write(text)
        self.stdout.flush()


def _named(row: Attachment) -> str:
    return f"FAULT (attachment). {row.entry.vehicle}: {row.name} ({row.digest}) is missing or damaged."
