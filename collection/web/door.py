"""The door of a web process: few at work, few in line behind them, everybody else told at once to come again.

The web server takes requests off the network and hands each to a thread of its own. It has no bound but the
number of those threads, each of which a slow upload may hold, and no refusal. So its threads only read
what is sent and wait; the work is done by a few of ours, each with its own connection to the database.
"""

import tempfile
from collections.abc import Callable, Iterable
from concurrent.futures import ThreadPoolExecutor
from io import BytesIO
from threading import BoundedSemaphore
from typing import IO, Any, TypeAlias

from django.conf import settings

from collection.web.watch import Watch

Environ: TypeAlias = dict[str, Any]
Answer: TypeAlias = Iterable[bytes]
Site: TypeAlias = Callable[[Environ, Any], Answer]

AT_ONCE = 2  # policy: a page is work for one core; the second goes on while the first waits
IN_LINE = 4  # policy: with this many before it, a page comes within ten times its own time
LONGEST_WAIT_S = 10.0  # policy: in line; who waits longer has tried again already
AT_HEALTH = 8  # policy: proxies that ask in the same moment
READING = 16  # policy: uploads at once
TO_REFUSE = 16  # threads left to say no
SERVER_THREADS = AT_ONCE + IN_LINE + AT_HEALTH + READING + TO_REFUSE

HELD_BYTES = 1_000_000  # policy: what is sent goes to the disk beyond this, and is not kept by a refusal
CHUNK_BYTES = 65_536
HEALTH = "/health/"
FULL = "longstand.full"  # in the environment of a request that is to be refused


class NoRoom(Exception):
    """The line is full, or the wait was too long."""


class NotWhole(Exception):
    """Whoever sent it went away in the middle of it."""


class Lane:
    """So many threads, and so many places in line before them."""

    def __init__(self, name: str, at_once: int, in_line: int) -> None:
        self.pool = ThreadPoolExecutor(at_once, thread_name_prefix=name)
        self.places = BoundedSemaphore(at_once + in_line)

    def answer(self, work: Callable[[], Answer]) -> Answer:
        """Wait for a turn, do the work, give its answer; NoRoom where no turn came."""
        if not self.places.acquire(blocking=False):
            raise NoRoom
        future = self.pool.submit(work)
        future.add_done_callback(lambda _: self.places.release())
        try:
            return future.result(LONGEST_WAIT_S)
        except TimeoutError:
            if future.cancel():
                raise NoRoom from None
            return future.result()  # it has begun: the limits of a request hold from here


class Door:
    """The site behind its door; its health and its own static files are answered past the line."""

    def __init__(self, site: Site, watch: Watch) -> None:
        self.site, self.watch = site, watch
        self.pages, self.health = Lane("page", AT_ONCE, IN_LINE), Lane("health", 1, AT_HEALTH)
        self.reading = BoundedSemaphore(READING)

    def __call__(self, environ: Environ, start: Any) -> Answer:
        """Answer, or refuse in a page that keeps what was typed."""
        if environ["PATH_INFO"].startswith(settings.STATIC_URL):
            return self.site(environ, start)
        try:
            sent = self._read(environ)
        except NotWhole:
            start("400 Bad Request", [("Content-Type", "text/plain"), ("Connection", "close")])
            return [b"The request broke off.\n"]
        except NoRoom:
            return self._refuse(environ, start, b"")
        lane = self.health if environ["PATH_INFO"] == HEALTH else self.pages
        try:
            return lane.answer(lambda: self._work(environ | {"wsgi.input": sent}, start))
        except NoRoom:
            held = sent.getvalue() if isinstance(sent, BytesIO) else b""
            return self._refuse(environ, start, held)
        finally:
            sent.close()

    def _read(self, environ: Environ) -> IO[bytes]:
        """All that is sent, before anybody works at it: a slow sender holds up no page."""
        stated = environ.get("CONTENT_LENGTH") or "0"
        length = int(stated) if stated.isdecimal() else 0
        if not length:
            return BytesIO()
        if not self.reading.acquire(blocking=False):
            raise NoRoom
        try:
            with self.watch.over():
                return _copy(environ["wsgi.input"], length)
        finally:
            self.reading.release()

    def _work(self, environ: Environ, start: Any) -> Answer:
        with self.watch.over():
            return self.site(environ, start)

    def _refuse(self, environ: Environ, start: Any, sent: bytes) -> Answer:
        """The site itself words it, by a middleware that needs no database."""
        return self.site(environ | {FULL: True, "wsgi.input": BytesIO(sent)}, start)


def _copy(source: Any, length: int) -> IO[bytes]:
    held: IO[bytes] = BytesIO() if length <= HELD_BYTES else tempfile.TemporaryFile()  # noqa: SIM115 - ends with the request
    left = length
    while left:
        part = source.read(min(left, CHUNK_BYTES))
        if not part:
            raise NotWhole
        held.write(part)
        left -= len(part)
    held.seek(0)
    return held
