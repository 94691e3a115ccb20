"""``manage.py restore``: a whole installation from a backup, on the database that is set here."""

import argparse
import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import DatabaseError
from django.utils import timezone

from collection.operations.actions.restoring import restore
from collection.operations.backup.archive import BackupFault
from collection.operations.backup.build import build_here
from collection.operations.backup.rehearse import NoRehearsal, rehearse
from collection.operations.backup.sealed import opened
from collection.operations.backup.stage import REHEARSING, RESTORING
from collection.operations.backup.wording import FAULTS_FOUND, rehearsed


class Command(BaseCommand):
    """Check the backup, build it aside, look at all of it, then let it take its place in one step."""

    help = "Brings an installation back from a backup; ends with 1 if what came back is not sound."
    requires_system_checks: list[str] = []  # noqa: RUF012  # Django declares it so

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Which backup, whether something may be replaced, or whether all is only tried."""
        parser.add_argument("file", help="the backup")
        parser.add_argument(
            "--identity", type=Path, metavar="FILE", help="the private key of an encrypted backup"
        )
        how = parser.add_mutually_exclusive_group()
        how.add_argument(
            "--replace",
            action="store_true",
            help="put it in the place of the installation that is here, which is kept aside",
        )
        how.add_argument(
            "--rehearse",
            action="store_true",
            help="prove the backup: build it aside, look at all of it, take it away again; the site may run",
        )
        # a restore calls itself
        how.add_argument("--stage", choices=(RESTORING, REHEARSING), help=argparse.SUPPRESS)

    def handle(self, *_args: Any, **options: Any) -> None:
        """Restore or rehearse, and report."""
        path, identity = Path(options["file"]), options["identity"]
        try:
            if options["stage"]:
                sound = build_here(path, purpose=options["stage"], say=self.say)
                sys.exit(0 if sound else FAULTS_FOUND)
            if options["rehearse"]:
                with opened(path, identity) as plain:
                    sound = rehearse(plain, self.say).sound
                self.say(rehearsed(sound=sound))
            else:
                sound = restore(
                    path, replace=options["replace"], identity=identity, clock=timezone.now, say=self.say
                )
        except (BackupFault, NoRehearsal) as fault:
            raise CommandError(str(fault)) from fault
        except DatabaseError as error:
            raise CommandError(f"The database did not answer: {error}") from error
        if not sound:
            sys.exit(1)

    def say(self, text: str) -> None:
        """One line to whoever watches."""
        self.stdout.write(text)
        self.stdout.flush()
