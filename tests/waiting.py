"""Waiting for a site that a test started."""

import time

from collection.operations import serving


def wait_for(port, seconds=300.0):
    """Whether something answers at a port of this machine within the time given."""
    deadline = time.monotonic() + seconds
    while time.monotonic() < deadline:
        if serving.answers("127.0.0.1", port):
            return True
        time.sleep(0.1)
    return False
