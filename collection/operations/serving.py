"""Starts the web server and the background worker as child processes and looks after both."""

import errno
import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable
from contextlib import suppress
from functools import partial
from types import FrameType
from typing import Any

from django.conf import settings
from django.core.management.base import CommandError
from django.db import DatabaseError, close_old_connections, connections
from django.utils import timezone

from collection.host import machine
from collection.host.parent import end_with
from collection.operations.schedules import sync_schedules
from collection.web.door import AT_ONCE, SERVER_THREADS

Say = Callable[[str], None]
Command = list[str]

LOOK_EVERY_SECONDS = 0.5
STOP_WITHIN_SECONDS = 20.0
LONGEST_PAUSE_SECONDS = 60.0
PORTS_TRIED = 20
# a clock that nobody sets, which goes on while the machine sleeps where there is one
SINCE_START = getattr(time, "CLOCK_BOOTTIME", time.CLOCK_MONOTONIC)
JUMP_SECONDS = 60.0  # policy: less than this, jobs are merely late
PORTS = 65536


def free_port(host: str, first: int) -> int:
    """The first port from ``first`` upwards on which nobody listens; CommandError if none is near."""
    for port in range(first, min(first + PORTS_TRIED, PORTS)):
        if port_is_free(host, port):
            return port
    raise CommandError(f"Ports {first} to {first + PORTS_TRIED - 1} are all taken: choose one with --port.")


def port_is_free(host: str, port: int) -> bool:
    """Whether we could listen there; CommandError where this machine has no such address."""
    if not 0 < port < PORTS:
        raise CommandError(f"--port {port}: give a number from 1 to {PORTS - 1}.")
    try:
        socket.create_server((host, port), family=_family(host)).close()
    except PermissionError as error:
        raise CommandError(f"--port {port} is kept for the system: choose one from 1024.") from error
    except OSError as error:
        if error.errno == errno.EADDRINUSE:
            return False
        raise CommandError(f"--host {host}: this machine has no such address.") from error
    return True


def _family(host: str) -> socket.AddressFamily:
    return socket.AF_INET6 if ":" in host else socket.AF_INET


def web_command(host: str, port: int) -> Command:
    """Granian with this site."""
    options = {
        "--interface": "wsgi",
        "--host": host,
        "--port": str(port),
        "--log-level": "error",
        "--blocking-threads": str(SERVER_THREADS),
        "--workers": str(settings.WEB_PROCESSES),
    }
    if settings.LOG_FORMAT == "json":
        options["--log-config"] = str(settings.BASE_DIR / "collection" / "web" / "logs" / "granian.json")
    flags = [part for option in options.items() for part in option]
    return [
        sys.executable,
        "-m",
        "granian",
        *flags,
        "--no-ws",
        "--respawn-failed-workers",
        "collection.wsgi:application",
    ]


def capacity() -> str:
    """How many web processes this machine gets, and by what."""
    count, gigabytes = settings.WEB_PROCESSES, machine.memory_bytes() / 1e9
    return (
        f"{count} web process{'es' * (count > 1)}, {count * AT_ONCE} requests at once "
        f"(this machine may use {machine.cores()} cores and {gigabytes:.0f} GB of memory)"
    )


def worker_command() -> Command:
    """The django-q2 cluster; without the checks, which would load every page into each of its processes."""
    return [sys.executable, str(settings.BASE_DIR / "manage.py"), "qcluster", "--skip-checks"]


def check_apart() -> None:
    """Check the program in a process of its own, whose memory ends with it; CommandError says why not."""
    command = [sys.executable, str(settings.BASE_DIR / "manage.py"), "check"]
    told = subprocess.run(  # noqa: S603 - our own command line, no shell
        command, cwd=settings.BASE_DIR, capture_output=True, text=True, check=False
    )
    if told.returncode:
        raise CommandError(told.stderr.strip())


class Supervisor:
    """Keeps the web server and the worker, or the one of them asked for, running until it is told to stop.

    A worker that dies is started again, after a pause that doubles while it keeps dying: the pages
    do not need it. A web server that dies ends everything, so that whoever started us sees it.
    """

    def __init__(self, web: Command | None, worker: Command | None, say: Say) -> None:
        asked = {"web server": web, "background worker": worker}
        self.commands = {name: command for name, command in asked.items() if command}
        self.children: dict[str, subprocess.Popen[bytes]] = {}
        self.say = say
        self.stopping = False
        self.pause_seconds = 1.0
        self.worker_due = 0.0  # monotonic time at which a dead worker is started again
        self.clock_s = _clock_s()

    def run(self, started: Callable[[], None], address: tuple[str, int] | None = None) -> None:
        """Serve until Ctrl-C or SIGTERM; ``started`` is called once they are begun and the address answers.

        However long that takes: on a small or busy machine it can be minutes.
        """
        connections.close_all()  # the children have their own
        before = {number: signal.signal(number, self._asked) for number in (signal.SIGINT, signal.SIGTERM)}
        try:
            for name in self.commands:
                self._start(name)
            is_up = False
            while not self.stopping:
                self._look_after()
                if not is_up and (address is None or answers(*address)):
                    is_up = True
                    started()
                time.sleep(LOOK_EVERY_SECONDS)
        finally:
            self._stop()
            for number, handler in before.items():
                signal.signal(number, handler)

    def _asked(self, _number: int, _frame: FrameType | None) -> None:
        self.stopping = True

    def _start(self, name: str) -> None:
        # A session of its own: Ctrl-C in the terminal reaches us alone, and we stop the children in order.
        self.children[name] = subprocess.Popen(  # noqa: S603 - our own command line, no shell
            self.commands[name],
            cwd=settings.BASE_DIR,
            env=_environment(),
            start_new_session=True,
            preexec_fn=partial(end_with, os.getpid()),  # no thread of ours runs beside
        )

    def _look_after(self) -> None:
        self._mind_the_clock()
        web, worker = self.children.get("web server"), self.children.get("background worker")
        if web and web.poll() is not None:
            raise CommandError("The web server ended by itself: its own message stands above.")
        if worker is None or worker.poll() is None:
            self.worker_due = 0.0
        elif not self.worker_due:
            _end_group(worker)
            self.say(f"The background worker ended; starting it again in {self.pause_seconds:g} seconds.")
            self.worker_due = time.monotonic() + self.pause_seconds
            self.pause_seconds = min(2 * self.pause_seconds, LONGEST_PAUSE_SECONDS)
        elif time.monotonic() >= self.worker_due:
            self.worker_due = 0.0
            self._start("background worker")

    def _stop(self) -> None:
        for child in self.children.values():
            child.terminate()
        deadline = time.monotonic() + STOP_WITHIN_SECONDS
        for name, child in self.children.items():
            try:
                child.wait(max(0.1, deadline - time.monotonic()))
            except subprocess.TimeoutExpired:
                self.say(f"The {name} did not stop in time and is ended.")
            _end_group(child)

    def _mind_the_clock(self) -> None:
        """Jobs wait for a time of day: where the clock jumped, they are set by the new one."""
        jump_s = _clock_s() - self.clock_s
        if abs(jump_s) < JUMP_SECONDS:
            return
        self.clock_s += jump_s
        word = "forward" if jump_s > 0 else "back"
        self.say(
            f"The clock of this machine was set {word} by {abs(jump_s):.0f} seconds; jobs are set by it."
        )
        try:
            close_old_connections()
            sync_schedules(timezone.now())
        except DatabaseError as error:
            self.say(f"Their times could not be set ({error}): start the site again when it can be written.")


def _clock_s() -> float:
    """The time of day less the time that has passed: stays the same unless somebody sets the clock."""
    return time.time() - time.clock_gettime(SINCE_START)


def _end_group(child: subprocess.Popen[bytes]) -> None:
    """Nothing that a child started outlives it, however it came to its end."""
    with suppress(ProcessLookupError, PermissionError):
        os.killpg(child.pid, signal.SIGKILL)
    child.wait()


def _environment() -> dict[str, Any]:
    """The children find this project wherever the command was typed."""
    paths = [str(settings.BASE_DIR), os.environ.get("PYTHONPATH", "")]
    return os.environ | {
        "DJANGO_SETTINGS_MODULE": "collection.settings",
        "PYTHONPATH": os.pathsep.join(path for path in paths if path),
    }


def answers(host: str, port: int) -> bool:
    """Whether something listens there."""
    try:
        socket.create_connection((host, port), 1.0).close()
    except OSError:
        return False
    return True
