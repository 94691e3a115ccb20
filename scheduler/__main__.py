"""``python -m scheduler FILE.json --on 2026-12-01``: the core as a command."""

import sys

from scheduler.command.run import run

if __name__ == "__main__":
    sys.exit(run(sys.argv[1:], sys.stdin.buffer, sys.stdout, sys.stderr))
