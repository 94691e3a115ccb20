"""A whole site in processes of its own, on a data folder of its own, that can be killed without warning."""

import http.client
import json
import os
import signal
import subprocess
import sys
import time
from contextlib import contextmanager, suppress

from django.conf import settings
from django.test import override_settings

from collection.operations import serving
from tests.databases import put_migrated_file
from tests.hosts.machines import wait_until
from tests.postgresql import unused_port
from tests.waiting import wait_for

# a barn with cars and a signed-in keeper, written by the site's own code into the folder of the environment
BUILD = """
import json
import django
django.setup()
from django.test import Client
from collection.operations.installing import prepare
from collection.models import Owner
from tests.barn import make_barn, make_car, make_person
prepare()
barn = make_barn("Hollin Barn")
keeper = make_person("keeper@hollin.example", barn, "manager")
owner = Owner.objects.create(organisation=barn, name="Ada Wren")
cars = [make_car(barn, owner, model=f"Twelve {n}").pk for n in range(6)]
client = Client()
client.force_login(keeper)
print(json.dumps({"cars": cars, "person": keeper.pk, "organisation": barn.pk,
                  "session": client.cookies["sessionid"].value}))
"""
# everything that must hold afterwards, as the site's own code sees it
CHECK = """
import hashlib, json
from collections import Counter
from pathlib import Path
import django
django.setup()
from django.conf import settings
from django.core.management import call_command
from django.db import connection
from django.utils import timezone
from collection.proof.actions import export_history, sign_statement
from collection.life.refresh import recompute_stale
from collection.chain.verify import verify
from collection.models import Attachment, DutyRow, Entry, Link, Membership, Organisation, Vehicle
from collection.permissions import access_of
from collection.care.queries.attachments import path_of
now = timezone.now()
for organisation in Organisation.objects.all():
    sign_statement(organisation=organisation, now=now)
faults = []
for car in Vehicle.objects.all():
    verdict = verify(export_history(car, now=now))
    faults += [f"{car}: {fault.text}" for fault in verdict.faults]
faults += [f"entry {pk} in no chain" for pk in Entry.objects.filter(link=None).values_list("pk", flat=True)]
for row in Attachment.objects.all():
    path = Path(settings.MEDIA_ROOT, path_of(row.digest))
    if not path.exists() or hashlib.sha256(path.read_bytes()).hexdigest() != row.digest:
        faults.append(f"{row.pk} has not its bytes")
if connection.vendor == "sqlite":
    cursor = connection.cursor()
    faults += [str(line) for line in cursor.execute("PRAGMA integrity_check").fetchall() if line != ("ok",)]
    faults += [f"loose key {line}" for line in cursor.execute("PRAGMA foreign_key_check").fetchall()]
stale = recompute_stale(access_of(Membership.objects.first().person), timezone.localdate())
faults += [f"{stale} cars cannot be computed"] if stale else []
kept = Counter(Entry.objects.values_list("idempotency_key", flat=True))
print(json.dumps({"faults": faults, "kept": kept, "files": Attachment.objects.count(),
                  "links": Link.objects.count(), "fresh": DutyRow.objects.count()}))
"""
TOKEN = "a" * 32  # the token that forms need, as cookie and as field


class Running:
    """One installation: its folder, its port, and whatever processes of it live now."""

    def __init__(self, folder, **environment):
        self.folder, self.port, self.processes = folder, unused_port(), []
        self.environment = (
            os.environ
            | {
                "LONGSTAND_DATA": str(folder),
                "DJANGO_SETTINGS_MODULE": "collection.settings",
                "PYTHONPATH": str(settings.BASE_DIR),
            }
            | environment
        )
        if not self.environment["LONGSTAND_DATABASE"]:
            put_migrated_file(folder)
        self.log = folder.parent / f"{folder.name}.log"
        self.facts = self.ask(BUILD)

    def ask(self, code):
        """What a script prints, run as the site's own code on its data."""
        done = subprocess.run(  # noqa: S603 - our own command line
            [sys.executable, "-W", "ignore", "-c", code],
            cwd=settings.BASE_DIR,
            env=self.environment,
            capture_output=True,
            text=True,
            check=False,
        )
        assert done.returncode == 0, done.stderr[-3000:]
        return json.loads(done.stdout.strip().splitlines()[-1])

    def start(self, *, worker=True, prefix=()):
        """Web server and worker as `serve` starts them, without its preparations."""
        with override_settings(WEB_PROCESSES=1):
            commands = [serving.web_command("127.0.0.1", self.port)]
        commands += [serving.worker_command()] if worker else []
        with self.log.open("a") as log:
            self.processes += [
                subprocess.Popen(  # noqa: S603 - our own command lines
                    [*prefix, *command],
                    cwd=settings.BASE_DIR,
                    env=self.environment,
                    stdout=log,
                    stderr=log,
                    start_new_session=True,
                )
                for command in commands
            ]
        assert wait_for(self.port), self.log.read_text()[-3000:]

    def kill(self):
        """SIGKILL for every process and all that it started."""
        for process in self.processes:
            with suppress(ProcessLookupError):
                os.killpg(process.pid, signal.SIGKILL)
            process.wait()
        self.processes = []
        # what it started may hold the port a moment longer, and must not answer for its successor
        wait_until(lambda: serving.port_is_free("127.0.0.1", self.port), 20, "the port to be let go of")

    @contextmanager
    def serve(self, *, quiet=True):
        """The whole command, preparations and all, ended in good order; ``quiet`` without a complaint."""
        start = self.log.stat().st_size if self.log.exists() else 0
        with self.log.open("a") as log:
            process = subprocess.Popen(  # noqa: S603 - our own command line
                [sys.executable, settings.BASE_DIR / "manage.py", "serve", "--port", str(self.port)],
                env=self.environment,
                stdout=log,
                stderr=log,
                stdin=subprocess.DEVNULL,
            )
        try:
            assert wait_for(self.port), self.log.read_text()[-3000:]
            yield
            process.send_signal(signal.SIGTERM)
            assert process.wait(60) == 0, self.log.read_text()[-3000:]
        finally:
            process.kill()
            process.wait()
        said = self.log.read_text()[start:] if quiet else ""
        assert "Traceback" not in said, said[-3000:]
        assert "ERROR" not in said, said[-3000:]

    def request(self, method, path, body=None, content_type="", timeout=60):
        """Status, headers and text of an answer to the signed-in keeper; OSError where there is none."""
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=timeout)
        headers = {
            "Cookie": f"sessionid={self.facts['session']}; csrftoken={TOKEN}",
            "X-CSRFToken": TOKEN,
        } | ({"Content-Type": content_type} if content_type else {})
        try:
            connection.request(method, path, body, headers)
            answer = connection.getresponse()
            said = {name.lower(): value for name, value in answer.getheaders()}
            return answer.status, said, answer.read().decode("utf-8", "replace")
        except http.client.HTTPException as error:
            raise OSError(str(error)) from error
        finally:
            connection.close()

    def send_entries(self, *entries, timeout=60):
        """What the phone's queue sends."""
        sent = {
            "sent_at": time.strftime("%Y-%m-%dT%H:%M:%SZ", time.gmtime()),
            "person": self.facts["person"],
            "organisation": self.facts["organisation"],
            "entries": entries,
        }
        return self.request("POST", "/worksheet/entries/", json.dumps(sent), "application/json", timeout)


def charge(key, car, volts="12.41"):
    """One entry of the phone's queue."""
    return {
        "key": key,
        "car": car,
        "kind": "charge",
        "duty": "charge",
        "units": "metric",
        "seen": None,
        "fields": {"completed": ["on"], "rested_volts": [volts]},
        "finding": None,
        "done_at": time.strftime("%Y-%m-%dT%H:%M:%SZ", time.gmtime()),
    }
