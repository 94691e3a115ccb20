"""Memory of a running installation: each process of a tree, resident and its share (PSS), in MB.

uv run python -m tests.bench.bench_memory PID      of ``manage.py serve`` or ``demo``
"""

import sys
from pathlib import Path

PROC = Path("/proc")


def children(pid):
    """The process and all below it."""
    yield pid
    for one in (PROC / str(pid) / "task" / str(pid) / "children").read_text().split():
        yield from children(int(one))


def megabytes(pid):
    """Resident memory, and the share of what several processes hold together."""
    rows = (PROC / str(pid) / "smaps_rollup").read_text().splitlines()
    kilobytes = {row.split(":")[0]: int(row.split()[1]) for row in rows[1:]}
    return kilobytes["Rss"] / 1024, kilobytes["Pss"] / 1024


def main(pid):
    """Print a line a process and the sums."""
    out, total = sys.stdout.write, [0.0, 0.0]
    for one in children(pid):
        resident, share = megabytes(one)
        total = [total[0] + resident, total[1] + share]
        words = (PROC / str(one) / "cmdline").read_text().replace("\0", " ")
        out(f"{one:8} resident {resident:6.0f}  share {share:6.0f}  {words[:90]}\n")
    out(f"{'all':>8} resident {total[0]:6.0f}  share {total[1]:6.0f}\n")


if __name__ == "__main__":
    main(int(sys.argv[1]))
