"""Ends a web process that hangs, so that the web server starts another in its place.

A thread cannot be ended from outside, and code that holds the interpreter keeps every thread from running.
So a timer of the interpreter's own, which needs neither, is set again and again; where that stays out, the
process writes down what each thread was doing and is gone. What people sent is sent again, under its key.
"""

import faulthandler
import time
from collections.abc import Iterator
from contextlib import contextmanager
from threading import Thread, get_ident

FROZEN_AFTER_S = 60.0  # policy: nothing of ours holds the interpreter for as long
OVERDUE_AFTER_S = 300.0  # policy: the longest upload from a barn; work is stopped long before (limits.py)
LOOK_EVERY_S = 5.0


class Watch:
    """Since when each thread has been at its request."""

    def __init__(self) -> None:
        self.since: dict[int, float] = {}

    @contextmanager
    def over(self) -> Iterator[None]:
        """Count the time that is spent inside."""
        self.since[get_ident()] = time.monotonic()
        try:
            yield
        finally:
            del self.since[get_ident()]

    def longest_s(self) -> float:
        """How long the oldest of the requests at hand has taken."""
        return time.monotonic() - min(list(self.since.values()), default=time.monotonic())

    def begin(self) -> None:
        """Look from now on, as long as the process lives."""
        Thread(target=self._look, name="watch", daemon=True).start()

    def _look(self) -> None:
        while self.longest_s() < OVERDUE_AFTER_S:
            faulthandler.dump_traceback_later(FROZEN_AFTER_S, exit=True)
            time.sleep(LOOK_EVERY_S)
        faulthandler.dump_traceback_later(LOOK_EVERY_S, exit=True)
