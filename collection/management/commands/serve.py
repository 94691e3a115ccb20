"""``manage.py serve``: run an installation, new or existing, with its worker."""

import getpass
import sys
from argparse import ArgumentParser
from typing import Any

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError

from collection.host import env
from collection.host.locks import preparing
from collection.operations import serving
from collection.operations.actions.installation import is_new, open_installation
from collection.operations.installing import begin_again, end_broken_off_restore, prepare

WEB, WORKER = "web", "worker"
# what the first start needs: field, variable, question
FIRST_MANAGER = (
    ("organisation", "LONGSTAND_FIRST_ORGANISATION", "Name of your barn, museum or collection: "),
    ("name", "LONGSTAND_FIRST_MANAGER_NAME", "Your name: "),
    ("email", "LONGSTAND_FIRST_MANAGER_EMAIL", "Your e-mail address, to sign in with: "),
    ("password", "LONGSTAND_FIRST_MANAGER_PASSWORD", "A password: "),
)


class Command(BaseCommand):
    """Prepare the database, ask for the first manager if there is none, and serve."""

    help = "Runs Longstand: database, pages and background worker; the first start asks for a manager."
    requires_system_checks = ()  # a child makes them: they load every page

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Where to listen."""
        parser.add_argument("--host", default="127.0.0.1", help="address to listen on (127.0.0.1)")
        parser.add_argument("--port", type=int, default=8000, help="port to listen on (8000)")
        parser.add_argument(
            "--only", choices=(WEB, WORKER), help="serve pages, or do background jobs, and not both"
        )
        parser.add_argument(
            "--keys-changed", action="store_true", help="this machine's keys are the right ones from now on"
        )

    def handle(self, *_args: Any, **options: Any) -> None:
        """Run until Ctrl-C or SIGTERM."""
        host, port, only = options["host"], options["port"], options["only"]
        if not options.get("skip_checks"):
            serving.check_apart()
        if only != WORKER and not serving.port_is_free(host, port):
            raise CommandError(f"Port {port} on {host} is taken: choose another with --port.")
        with preparing():
            ended = end_broken_off_restore()
        if ended:
            self.say(ended)
            begin_again()
        with preparing():
            prepare(keys_changed=options["keys_changed"], pages=only != WORKER)
            if only != WORKER and is_new():
                self.open()
        if only == WORKER:
            self.work()
        else:
            self.serve(host, port, alone=only == WEB)

    def work(self) -> None:
        """Do background jobs, for pages that other machines serve."""
        supervisor = serving.Supervisor(None, serving.worker_command(), self.say)
        supervisor.run(lambda: self.say("Longstand does background jobs  (stop with Ctrl-C)"))

    def serve(self, host: str, port: int, *, alone: bool) -> None:
        """Serve pages, alone or with a worker beside."""
        if host not in ("127.0.0.1", "localhost", "::1") and not settings.PRODUCTION:
            self.stdout.write(
                "Others can reach this address in plain text: "
                "set LONGSTAND_MODE=production and LONGSTAND_HOSTS."
            )
        worker = None if alone else serving.worker_command()
        supervisor = serving.Supervisor(serving.web_command(host, port), worker, self.say)
        here = "127.0.0.1" if host == "0.0.0.0" else host  # noqa: S104 - a comparison
        supervisor.run(lambda: self.announce(host, port), (here, port))

    def say(self, text: str) -> None:
        """One line to whoever watches."""
        self.stdout.write(text)
        self.stdout.flush()

    def announce(self, host: str, port: int) -> None:
        """Say where the site is."""
        self.say(f"Longstand serves on http://{host}:{port}  (stop with Ctrl-C)")
        self.say(serving.capacity())

    def open(self) -> None:
        """Make the first manager from the environment, else by asking, else say what to do."""
        values = {field: env.text(variable) for field, variable, _ in FIRST_MANAGER}
        if all(values.values()):
            self.make(values)
        elif sys.stdin.isatty():
            self.ask()
        else:
            missing = [variable for field, variable, _ in FIRST_MANAGER if not values[field]]
            raise CommandError(
                "Nobody can sign in yet. Run this in a terminal to be asked for the first manager, "
                f"or set {', '.join(missing)}."
            )

    def make(self, given: dict[str, str]) -> None:
        """Open the installation; CommandError names what was refused."""
        try:
            person = open_installation(**given)
        except ValidationError as error:
            raise CommandError(_plain(error)) from error
        self.say(f"{person.email} is the first manager.")

    def ask(self) -> None:
        """Ask until the answers hold."""
        while is_new():
            answers = {field: input(question) for field, _, question in FIRST_MANAGER[:-1]}
            answers["password"] = getpass.getpass(FIRST_MANAGER[-1][2])
            if answers["password"] != getpass.getpass("The same password again: "):
                self.say("The two passwords differ: please begin again.")
                continue
            try:
                self.make(answers)
            except CommandError as error:
                self.say(f"{error}\nPlease begin again.")


def _plain(error: ValidationError) -> str:
    if not hasattr(error, "error_dict"):
        return "password: " + " ".join(error.messages)
    return "; ".join(f"{field}: {' '.join(texts)}" for field, texts in error.message_dict.items())
