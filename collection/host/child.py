"""The child in which one stranger's file is read: ``python -m collection.host.child``, see ``contained``.

It confines itself before it looks at the file, imports what its work needs and nothing of the site, and
speaks in frames: a letter, the length of what follows in eight bytes, and that.
"""

import ctypes
import json
import os
import resource
import signal
import sys
import traceback
from collections.abc import Callable
from importlib import import_module
from typing import Any

from collection.host.refusal import Refused

TOLD, ANSWER, REFUSED, NO_ROOM, BROKEN = b"T", b"A", b"R", b"M", b"B"
LENGTH = 8  # bytes of a frame's length, the most significant first
MOST_TRACE = 4000  # characters of a failure that are handed up
LATER = 10  # niceness: pages go before files
PR_SET_PDEATHSIG = 1  # linux/prctl.h

Facts = dict[str, Any]
Tell = Callable[[str], None]
Work = Callable[[bytes, Facts, Tell], tuple[Facts, bytes]]


def main(work: str, parent: str, cpu_s: str, memory: str) -> None:
    """Do one piece of work ("module:function") on what comes in; write what comes of it."""
    _confine(int(parent), int(cpu_s), int(memory))
    out = os.fdopen(os.dup(1), "wb", buffering=0)
    os.dup2(2, 1)  # what a library prints is no frame

    def send(kind: bytes, payload: bytes) -> None:
        out.write(kind + len(payload).to_bytes(LENGTH, "big"))
        for start in range(0, len(payload), 1 << 20):
            out.write(payload[start : start + (1 << 20)])

    def tell(words: str) -> None:
        send(TOLD, words.encode())

    try:
        size = int.from_bytes(sys.stdin.buffer.read(LENGTH), "big")
        facts = json.loads(sys.stdin.buffer.read(size))
        module, _, name = work.partition(":")
        act: Work = getattr(import_module(module), name)
        answer, data = act(sys.stdin.buffer.read(), facts, tell)
        words = json.dumps(answer).encode()
        send(ANSWER, len(words).to_bytes(LENGTH, "big") + words + data)
    except Refused as fault:
        send(REFUSED, str(fault).encode())
    except MemoryError:
        send(NO_ROOM, b"")
    except Exception:  # whatever a file does to its reader is told above
        send(BROKEN, traceback.format_exc()[-MOST_TRACE:].encode())


def _confine(parent: int, cpu_s: int, memory: int) -> None:
    """So much processor and memory, no files written, no core left behind, and dead when the parent is."""
    if sys.platform == "linux":
        ctypes.CDLL(None).prctl(PR_SET_PDEATHSIG, signal.SIGKILL)
    if os.getppid() != parent:  # it ended before it could take us along
        sys.exit(1)
    resource.setrlimit(resource.RLIMIT_CPU, (cpu_s, cpu_s + 1))
    resource.setrlimit(resource.RLIMIT_AS, (memory, memory))
    resource.setrlimit(resource.RLIMIT_FSIZE, (0, 0))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    os.nice(LATER)


if __name__ == "__main__":
    main(*sys.argv[1:])
