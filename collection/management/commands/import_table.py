"""``manage.py import_table``: a table brought in as the pages bring it in."""

import json
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from collection.spreadsheets.command import Wanted, import_table, lines_of


class Command(BaseCommand):
    """Say how a table is understood and what is asked; store it, unless that is only to be tried."""

    help = "Brings a table of cars, or of care, in, and says how it was understood and what is asked."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """The file, what it holds, and what holds for all of it."""
        parser.add_argument("file", type=Path)
        parser.add_argument("--as", dest="kind", choices=("cars", "log"), required=True)
        parser.add_argument("--owner", default="", help="whose cars all of them are")
        parser.add_argument("--by", default="", metavar="E-MAIL", help="in whose name (the only manager)")
        parser.add_argument("--organisation", default="", help="by its name (the only one)")
        parser.add_argument("--set", action="append", default=[], metavar="COLUMN:WHAT=VALUE", help=SET)
        parser.add_argument("--set-aside", action="store_true", help="bring good rows in, leave others out")
        parser.add_argument("--dry-run", action="store_true", help="store nothing")
        parser.add_argument("--json", action="store_true", help="for programmes")

    def handle(self, *_args: Any, **options: Any) -> None:
        """Bring it in, then say what was done; an error where something must be said or corrected first."""
        names = ("file", "kind", "owner", "by", "organisation", "set", "set_aside", "dry_run")
        result = import_table(Wanted(**{name: options[name] for name in names}))
        self.stdout.write(json.dumps(result, indent=1) if options["json"] else "\n".join(lines_of(result)))
        if result["asked"] or result["faults"]:
            raise CommandError("Nothing is stored: answer what is asked, or correct the table.")


SET = "of a column, by its letters: B:unit=psi, C:order=dmy, C:year=2025, D:field=note"
