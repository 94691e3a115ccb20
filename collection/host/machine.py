"""What this machine may use: cores and memory, by the limits of a container where it runs in one."""

import os
from contextlib import suppress
from pathlib import Path

CONTROL_GROUP = Path("/sys/fs/cgroup")  # version 2: https://docs.kernel.org/admin-guide/cgroup-v2.html
MOST_WEB_PROCESSES = 4  # policy: more are asked for
BYTES_EACH = 1_000_000_000  # policy: of the machine, for a web process beside worker and database


def cores() -> int:
    """How many cores this process may use, at least 1."""
    count = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    share, _, period = _limit("cpu.max").partition(" ")
    if share.isdecimal() and period.isdecimal():
        count = min(count, int(share) // int(period))
    return max(1, count)


def memory_bytes() -> int:
    """How much memory this process may use."""
    installed = os.sysconf("SC_PAGE_SIZE") * os.sysconf("SC_PHYS_PAGES")
    limit = _limit("memory.max")
    return min(installed, int(limit)) if limit.isdecimal() else installed


def web_processes() -> int:
    """One for each core and for each gigabyte of memory, at least one."""
    return max(1, min(cores(), memory_bytes() // BYTES_EACH, MOST_WEB_PROCESSES))


def _limit(name: str) -> str:
    with suppress(OSError):
        return (CONTROL_GROUP / name).read_text().strip()
    return ""
