"""Machines of an installation as groups of processes here: started by `serve`, killed as by a power cut."""

import json
import os
import signal
import subprocess
import sys
import threading
import time
import urllib.error
import urllib.request
import uuid
from contextlib import suppress
from pathlib import Path

from django.conf import settings

from tests.postgresql import unused_port

CSRF = "c" * 32
TRIES_FOR_S = 600  # a busy machine takes its time to go on without the one that died
WORKING = 6  # serve, the cluster, its guard, and what takes, does and notes jobs
CALM = {"LONGSTAND_LOG": "INFO", "PYTHONWARNINGS": "ignore"}


def wait_until(condition, seconds, what):
    """The first true value of a condition, asked again and again; a test that waits in vain says for what."""
    deadline = time.monotonic() + seconds
    while not (value := condition()):
        assert time.monotonic() < deadline, f"in vain for {seconds} s: {what}"
        time.sleep(0.02)
    return value


def descendants(pid):
    """Every process begun by a process, itself first."""
    children = {}
    for folder in Path("/proc").glob("[0-9]*"):
        with suppress(OSError):
            parent = int((folder / "stat").read_text().rpartition(")")[2].split()[1])
            children.setdefault(parent, []).append(int(folder.name))
    found = [pid]
    for each in found:
        found += children.get(each, [])
    return found


class Machine:
    """One machine that serves pages or does jobs; ``name`` is how the database knows it."""

    def __init__(self, name, only, folder, **environment):
        self.name, self.only, self.folder, self.port = name, only, folder, unused_port()
        self.log = self.folder / "log"
        self.environment = os.environ | CALM | {"PGAPPNAME": name, "LONGSTAND_DATA": str(self.folder)}
        self.environment |= environment
        command = [sys.executable, settings.BASE_DIR / "manage.py", "serve", "--only", only]
        with self.log.open("w") as log:
            self.process = subprocess.Popen(  # noqa: S603 - our own command line
                [*command, "--port", str(self.port)],
                env=self.environment,
                stdin=subprocess.DEVNULL,
                stdout=log,
                stderr=log,
            )

    def is_up(self):
        """Whether it has said that it serves, or has every process that takes jobs."""
        assert self.process.poll() is None, self.log.read_text()
        if self.only == "web":
            return "stop with Ctrl-C" in self.log.read_text()
        return len(descendants(self.process.pid)) >= WORKING

    def kill(self):
        """End it with everything it started, at once and without a word."""
        doomed = descendants(self.process.pid)
        for pid in doomed:  # nobody is left to start another again
            with suppress(ProcessLookupError):
                os.kill(pid, signal.SIGSTOP)
        for pid in doomed:
            with suppress(ProcessLookupError):
                os.kill(pid, signal.SIGKILL)
        self.process.wait()

    def stop(self):
        """Ask it to end, as a service manager does."""
        self.process.send_signal(signal.SIGTERM)
        try:
            self.process.wait(30)
        except subprocess.TimeoutExpired:
            self.kill()


class Phone(threading.Thread):
    """Logs one entry at each of its cars, at whichever web answers, until it is told that it is stored."""

    def __init__(self, person, webs, cars):
        super().__init__(daemon=True)
        self.person, self.webs, self.cars = person, webs, cars
        self.stored, self.retries, self.errors = {}, 0, []
        self.done = threading.Event()

    def run(self):
        """Entry by entry, until all are in or it is told to stop."""
        for number, car in enumerate(self.cars):
            if self.done.is_set():
                return
            self.log(car, str(uuid.uuid4()), number)

    def log(self, car, key, turn):
        """Send one entry until somebody says that it is stored, as a phone in the barn does."""
        entry = {
            "key": key,
            "car": car,
            "kind": "charge",
            "duty": "charge",
            "units": "metric",
            "fields": {"completed": ["on"], "rested_volts": ["12.31"]},
            "done_at": now(),
            "seen": now(),
        }
        deadline = time.monotonic() + TRIES_FOR_S
        while time.monotonic() < deadline:
            turn += 1
            answer = self.send(self.webs[turn % len(self.webs)], [entry])
            outcome = answer["outcomes"][0] if answer else {"state": "no answer"}
            if outcome["state"] in ("stored", "before"):
                self.stored[key] = car
                return
            if outcome["state"] not in ("failed", "no answer"):
                break
            self.retries += 1
        self.errors.append(outcome)

    def send(self, web, entries):
        """What the site answers; nothing where it does not."""
        body = {"sent_at": now(), "person": self.person["pk"], "organisation": self.person["organisation"]}
        request = urllib.request.Request(
            f"http://127.0.0.1:{web.port}/worksheet/entries/",
            json.dumps(body | {"entries": entries}).encode(),
            {
                "Content-Type": "application/json",
                "X-CSRFToken": CSRF,
                "Cookie": f"sessionid={self.person['session']}; csrftoken={CSRF}",
            },
        )
        try:
            with urllib.request.urlopen(request, timeout=60) as answer:  # noqa: S310
                return json.load(answer)
        except (OSError, ValueError) as error:
            if isinstance(error, urllib.error.HTTPError) and error.code < 500:
                raise
            return None


def now():
    return time.strftime("%Y-%m-%dT%H:%M:%S+00:00", time.gmtime())
