"""``manage.py operator``: who runs the installation, and the way back when nobody can any more."""

from argparse import ArgumentParser
from typing import Any

from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from collection.people.actions.operators import name_operator
from collection.people.queries.people import operators


class Command(BaseCommand):
    """List the operators, or name one."""

    help = "Lists who runs the installation; with an e-mail address, lets that person run it too."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Whom to name."""
        parser.add_argument("email", nargs="?", help="the address with which they sign in")

    def handle(self, *_args: Any, **options: Any) -> None:
        """Name and list."""
        if options["email"]:
            try:
                grant = name_operator(email=options["email"], by=None, now=timezone.now())
            except ValidationError as fault:
                raise CommandError(" ".join(fault.messages)) from fault
            self.stdout.write(f"{grant.person.email} runs the installation from now on.")
        for grant in operators().filter(ended_at__isnull=True):
            closed = "" if grant.person.is_active else ", whose sign-in is closed"
            self.stdout.write(f"  {grant.person.email}, since {grant.given_at:%-d %b %Y}{closed}")
