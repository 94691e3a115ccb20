"""``manage.py doctor``: what is wrong with this installation, and how to mend it."""

import sys
from argparse import ArgumentParser
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand
from django.utils import timezone

from collection.host.version import VERSION
from collection.operations.doctor.finding import Look
from collection.operations.doctor.rounds import examine


class Command(BaseCommand):
    """Make every check and say what was found."""

    help = (
        "Says in words what is wrong with this installation and how to mend it; ends with 1 if anything is."
    )
    requires_system_checks: list[str] = []  # noqa: RUF012  # Django declares it so

    def add_arguments(self, parser: ArgumentParser) -> None:
        """How deep to look."""
        parser.add_argument(
            "--deep",
            action="store_true",
            help="read everything: every attachment, every chain, the whole database, the last backup",
        )

    def handle(self, *_args: Any, **options: Any) -> None:
        """Look and report."""
        self.stdout.write(f"Longstand {VERSION}, {settings.MODE}, data in {settings.DATA_DIR}")
        wrong = 0
        for title, findings in examine(Look(timezone.now(), deep=options["deep"])):
            if not findings:
                self.stdout.write(f"  ok     {title}")
            for finding in findings:
                wrong += finding.wrong
                self.stdout.write(f"  {'WRONG ' if finding.wrong else 'note  '} {title}. {finding.what}")
                self.stdout.write(f"         {finding.mend}")
        self.stdout.write(f"Wrong: {wrong}." if wrong else "Nothing is wrong.")
        if wrong:
            sys.exit(1)
