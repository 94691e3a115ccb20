"""``manage.py demo``: the demo barn in a database of its own, served on this machine."""

import os
import sys
import time
from argparse import ArgumentParser
from pathlib import Path
from shutil import rmtree
from typing import Any
from urllib.parse import quote

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.db import connection
from django.utils import timezone

from collection import demo
from collection.host.locks import preparing
from collection.operations import serving
from collection.operations.installing import begin_again, end_broken_off_restore, prepare

HOST, PORT = "127.0.0.1", 8000


class Command(BaseCommand):
    """Build the demo barn at the first start, then serve it; never touches another installation."""

    began_s = time.monotonic()
    help = "Serves the demo barn with its worker, from var/demo.sqlite3; started again, it starts again."
    requires_system_checks = ()  # they are made once it runs on its own database

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Where to listen, whether to begin afresh."""
        parser.add_argument("--port", type=int, help="port to listen on (8000, or the next that is free)")
        parser.add_argument(
            "--fresh", action="store_true", help="build the demo barn again, dated from today"
        )

    def handle(self, *_args: Any, **options: Any) -> None:
        """Run until Ctrl-C or SIGTERM."""
        if settings.PRODUCTION:
            raise CommandError(
                "The demo's passwords are public: it does not run with LONGSTAND_MODE=production."
            )
        file = Path(settings.DATA_DIR) / "demo.sqlite3"
        if Path(settings.DATABASES["default"]["NAME"]) != file:
            self.say(_what_comes(is_there=file.exists() and not options["fresh"]))
            _restart_with(file)
        self.check()
        port = self.port(options["port"])
        if options["fresh"] and file.exists():
            self.remove(file)
        with preparing():
            ended = end_broken_off_restore()
        if ended:
            self.say(ended)
            begin_again()
        self.step("Preparing the database")
        with preparing():
            prepare(keys_changed=True)
        if not demo.is_loaded():
            demo.build(timezone.now(), self.step)
        self.step("Starting the pages")
        supervisor = serving.Supervisor(serving.web_command(HOST, port), serving.worker_command(), self.say)
        supervisor.run(lambda: self.announce(port), (HOST, port))

    def port(self, asked: int | None) -> int:
        """The port asked for, or the next free one."""
        if asked is None:
            return serving.free_port(HOST, PORT)
        if not serving.port_is_free(HOST, asked):
            raise CommandError(f"Port {asked} is taken: choose another with --port, or leave --port out.")
        return asked

    def remove(self, file: Path) -> None:
        """Delete the database file if it holds the demo barn and nothing else."""
        if not demo.is_only_the_demo():
            raise CommandError(f"{file} is not the demo barn's database: move it away yourself.")
        connection.close()
        for part in (file, Path(f"{file}-wal"), Path(f"{file}-shm")):
            part.unlink(missing_ok=True)
        rmtree(file.with_name("demo-media"), ignore_errors=True)

    def step(self, text: str) -> None:
        """What is being done now, and when it began."""
        self.say(f"{time.monotonic() - self.began_s:5.0f} s  {text} …")

    def say(self, text: str) -> None:
        """One line to whoever watches."""
        self.stdout.write(text)
        self.stdout.flush()

    def announce(self, port: int) -> None:
        """Say where the site is and how to sign in."""
        self.say(f"\n{demo.ORGANISATION} is open at http://{HOST}:{port}  (stop with Ctrl-C)\n")
        for person in demo.SIGN_INS:
            self.say(f"  {person.role:<8} {person.email:<28} password {person.password}")


def _what_comes(*, is_there: bool) -> str:
    if is_there:
        return "The demo barn: what is there is served as it was; --fresh builds it again, dated from today."
    return "An invented barn of 40 cars with two years of care: built in about half a minute, then served."


def _restart_with(file: Path) -> None:
    """Run the same command again on the demo's own database, whatever the environment names."""
    os.environ["LONGSTAND_DATABASE"] = f"sqlite:///{quote(str(file))}"
    os.environ["LONGSTAND_BACKUPS"] = str(file.with_name("demo-backups"))
    os.environ["LONGSTAND_MEDIA"] = str(file.with_name("demo-media"))
    sys.stdout.flush()
    begin_again()
