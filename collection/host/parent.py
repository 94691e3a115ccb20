"""A process that ends with the one that began it, however that came to its end."""

import ctypes
import os
import signal
import sys

PR_SET_PDEATHSIG = 1  # linux/prctl.h; other systems have no such thing
_libc = ctypes.CDLL(None) if sys.platform == "linux" else None


def end_with(parent: int, by: int = signal.SIGTERM) -> None:
    """Called in a child of ``parent``: from now on it gets this signal when its parent is gone.

    Its own children do not: each must call this for itself.
    """
    if _libc is None:
        return
    _libc.prctl(PR_SET_PDEATHSIG, by)
    if os.getppid() != parent:  # it was gone before we could ask
        os.kill(os.getpid(), by)
