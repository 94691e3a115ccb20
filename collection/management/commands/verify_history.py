"""``manage.py verify_history``: check an exported history, or every chain in this database."""

import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from collection.chain.signing import fingerprint
from collection.chain.verdict import Verdict
from collection.chain.verify import keys_of, name_of_subject, verify
from collection.proof.check_all import prove, told


class Command(BaseCommand):
    """Say whether a history is as it was chained and signed; if not, which entry fails and how."""

    help = "Checks an exported storage history without the server's database; ends with 1 if it is not sound."
    requires_system_checks: list[str] = []  # noqa: RUF012  # Django declares it so

    def add_arguments(self, parser: ArgumentParser) -> None:
        """What to check, against what."""
        parser.add_argument("file", nargs="?", help="the exported history; - reads it from standard input")
        parser.add_argument(
            "--database", action="store_true", help="check every car of this database instead"
        )
        parser.add_argument(
            "--against",
            action="append",
            default=[],
            metavar="FILE",
            help="a statement or an earlier export that you kept; may be given more than once",
        )
        parser.add_argument(
            "--with",
            dest="with_files",
            action="append",
            default=[],
            metavar="FILE",
            help="a photograph or document that came with the history; may be repeated",
        )
        parser.add_argument(
            "--key",
            action="append",
            default=[],
            metavar="FINGERPRINT",
            help="the fingerprint of a key that you expect, as the barn gave it to you, or of a time-stamp "
            "authority's certificate; may be repeated",
        )

    def handle(self, *_args: Any, **options: Any) -> None:
        """Check and report."""
        if bool(options["file"]) == options["database"]:
            raise CommandError("Name one exported file, or say --database.")
        witnesses = [_read(name) for name in options["against"]]
        if options["file"]:
            files = [(Path(name).name, _read(name)) for name in options["with_files"]]
            data = _read(options["file"])
            verdict = verify(data, witnesses=witnesses, keys=options["key"], files=files)
            self.report(verdict)
            broken = not verdict.sound
        else:
            broken = self.database(witnesses, options["key"])
        if broken:
            sys.exit(1)

    def database(self, witnesses: list[bytes], keys: list[str]) -> bool:
        """Check every chained car and every series of statements; whether anything is not sound."""
        proof = prove(timezone.now(), witnesses, keys)
        for fault in proof.faults:
            self.stdout.write(fault)
        self.stdout.write(f"Cars checked: {proof.cars}, with faults: {proof.faulty_cars}.")
        return not proof.sound

    def report(self, verdict: Verdict) -> None:
        """The whole verdict in words."""
        history = verdict.history
        if history is not None:
            self.stdout.write(
                f"{name_of_subject(history)}, kept by {history['kept_by'] or 'a keeper left unnamed'}."
            )
            self.stdout.write(
                f"Entries: {len(history['entries'])}. Signed statements over them: {len(history['anchors'])}."
            )
            for key in keys_of(history):
                self.stdout.write(
                    f"Signed with the key {fingerprint(key)}: compare it with the barn's own word."
                )
        for remark in verdict.remarks:
            self.stdout.write(f"Note. {remark}")
        for fault in verdict.faults:
            self.stdout.write(told(fault))
        self.stdout.write(
            "NOT SOUND." if verdict.faults else "Sound: nothing was changed since it was signed."
        )


def _read(name: str) -> bytes:
    if name == "-":
        return sys.stdin.buffer.read()
    try:
        return Path(name).read_bytes()
    except OSError as error:
        raise CommandError(f"{name} cannot be read: {error.strerror}.") from error
