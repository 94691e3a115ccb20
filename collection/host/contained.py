"""What strangers send is read by a child process with no more than its share of processor, memory and time.

A file that would freeze or fill the site ends its own reader and nothing else. The child is started anew
for each piece of work, never forked from a process with threads; it knows no setting, key or database, and
ends with its parent. What comes back are JSON and bytes, of a length that is bounded too. Only so many
children work at once on one machine: each holds one of a few lock files, together with its parent.
"""

import fcntl
import json
import logging
import os
import selectors
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path

from django.conf import settings

from collection.host.child import ANSWER, LENGTH, NO_ROOM, REFUSED, TOLD, Facts, Tell, Work
from collection.host.refusal import Refused

log = logging.getLogger(__name__)

MOST_TOLD = 50  # words on the way that are passed on
LOOK_AGAIN_S = 0.05  # while all places are taken
PIECE = 1 << 20
# One thread each: a library that starts more would take the memory of all of them.
ENVIRONMENT = {
    "PATH": os.defpath,
    "LANG": "C.UTF-8",
    "OPENBLAS_NUM_THREADS": "1",
    "POLARS_MAX_THREADS": "1",
    "MALLOC_ARENA_MAX": "2",
}


@dataclass(frozen=True)
class Share:
    """What a piece of work may use. ``name`` and ``at_once``: how many of a kind work on one machine."""

    name: str
    at_once: int
    cpu_s: int  # seconds of processor
    wall_s: float  # seconds by the clock
    memory: int  # bytes of addresses
    answer: int  # bytes
    wait_s: float = 10.0  # for a place


class TooMuch(Refused):
    """The file would take more than its share; ``why`` says of what, without naming the file."""

    def __init__(self, why: str) -> None:
        super().__init__(f"The file {why}")
        self.why = why


class Busy(Refused):
    """All places are taken: the file may be good, and be read a minute later."""

    def __init__(self) -> None:
        super().__init__("As many files as can be read at once are being read: send it again in a minute.")


def read_apart(
    work: Work, data: bytes, facts: Facts, *, share: Share, tell: Tell = lambda _words: None
) -> tuple[Facts, bytes]:
    """What ``work``, a function of a module, makes of ``data`` and ``facts`` (JSON) in a child of its own.

    ``tell`` hears what it says on the way. Refused, in words, where the file is not taken.
    """
    with _place(share) as place, tempfile.TemporaryFile() as sent:
        payload = json.dumps(facts).encode()
        for part in (len(payload).to_bytes(LENGTH, "big"), payload, data):
            sent.write(part)
        sent.flush()
        sent.seek(0)
        arguments = (f"{work.__module__}:{work.__name__}", os.getpid(), share.cpu_s, share.memory)
        child = subprocess.Popen(  # noqa: S603 - ourselves
            [sys.executable, "-s", "-m", "collection.host.child", *map(str, arguments)],
            stdin=sent,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            cwd=settings.BASE_DIR,
            env=ENVIRONMENT,
            pass_fds=(place,),
        )
        try:
            return _heard(child, share, tell)
        finally:
            child.kill()
            child.wait()
            child.stdout.close()  # type: ignore[union-attr]  # it is a pipe


@contextmanager
def _place(share: Share) -> Iterator[int]:
    """A place among those of its kind, as the handle of a lock that the child inherits; Busy without one."""
    until = time.monotonic() + share.wait_s
    while True:
        for number in range(share.at_once):
            path = Path(settings.DATA_DIR) / f"reading-{share.name}-{number}.lock"
            handle = os.open(path, os.O_RDWR | os.O_CREAT, 0o600)
            try:
                fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except BlockingIOError:
                os.close(handle)
                continue
            try:
                yield handle
            finally:
                os.close(handle)
            return
        if time.monotonic() >= until:
            raise Busy
        time.sleep(LOOK_AGAIN_S)


def _heard(child: "subprocess.Popen[bytes]", share: Share, tell: Tell) -> tuple[Facts, bytes]:
    """The child's answer; what it says before is passed on."""
    signs = 0
    for kind, message in _frames(child, share):
        if kind == ANSWER:
            start = LENGTH + int.from_bytes(message[:LENGTH], "big")
            return dict(json.loads(bytes(message[LENGTH:start]))), bytes(message[start:])
        if kind == TOLD:
            signs += 1
            if signs <= MOST_TOLD:
                tell(bytes(message).decode())
        elif kind == REFUSED:
            raise Refused(bytes(message).decode())
        elif kind == NO_ROOM:
            raise TooMuch(_memory(share))
        else:
            raise RuntimeError(f"a file could not be read: {bytes(message).decode()}")
    raise _end_of(child, share)


def _frames(child: "subprocess.Popen[bytes]", share: Share) -> Iterator[tuple[bytes, memoryview]]:
    """What the child says until it ends; TooMuch when it takes too long or says too much."""
    until = time.monotonic() + share.wall_s
    pipe = child.stdout.fileno()  # type: ignore[union-attr]  # it is a pipe
    with selectors.DefaultSelector() as ready:
        ready.register(pipe, selectors.EVENT_READ)

        def read(size: int) -> bytearray:
            got = bytearray()
            while len(got) < size:
                left = until - time.monotonic()
                if left <= 0 or not ready.select(left):
                    raise TooMuch(_time(share))
                piece = os.read(pipe, min(size - len(got), PIECE))
                if not piece:
                    raise EOFError
                got += piece
            return got

        with suppress(EOFError):
            while True:
                head = read(1 + LENGTH)
                size = int.from_bytes(head[1:], "big")
                if size > share.answer:
                    raise TooMuch(f"holds more than is kept of one, {share.answer / 1e6:.0f} MB: split it.")
                yield bytes(head[:1]), memoryview(read(size))


def _end_of(child: "subprocess.Popen[bytes]", share: Share) -> TooMuch:
    """Why a child ended without an answer, as far as can be known."""
    code = child.wait()
    if code == -signal.SIGXCPU:
        return TooMuch(_time(share))
    log.warning("a child that read a file ended with %s", code)
    return TooMuch(f"is damaged, or {_memory(share)}")


def _time(share: Share) -> str:
    return f"takes more than {share.cpu_s} seconds of work to be read: save it anew, or send it in parts."


def _memory(share: Share) -> str:
    return f"takes more than {share.memory / 1e6:.0f} MB of memory to be read: make it smaller."
