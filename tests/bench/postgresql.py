"""A PostgreSQL server in a folder, for as long as something runs."""

import glob
import os
import shutil
import socket
import subprocess
from contextlib import contextmanager


def program(name):
    """PostgreSQL's own program, on the path or where Debian keeps it; None where there is none."""
    kept = sorted(glob.glob(f"/usr/lib/postgresql/*/bin/{name}"))
    return shutil.which(name) or (kept[-1] if kept else None)


def _run(*command):
    """Run as the user whom PostgreSQL accepts: it refuses to be run by root."""
    user = ["runuser", "-u", "postgres", "--"] if os.geteuid() == 0 else []
    done = subprocess.run([*user, *command], capture_output=True, text=True, check=False)  # noqa: S603 - ours
    assert done.returncode == 0, done.stderr


def _unused_port():
    with socket.create_server(("127.0.0.1", 0)) as listener:
        return listener.getsockname()[1]


@contextmanager
def kept_server(folder, *options):
    """The address of a server whose data stand in ``folder``; made there if need be, and kept.

    Every user must be able to reach the folder: the server does not run as root.
    """
    folder.mkdir(parents=True, exist_ok=True)
    if os.geteuid() == 0:
        shutil.chown(folder, "postgres")
    data, control, port = folder / "data", program("pg_ctl"), _unused_port()
    if not data.exists():
        _run(program("initdb"), "-D", str(data), "-A", "trust", "-U", "postgres", "-E", "UTF8", "--locale=C")
    words = f"-p {port} -k {folder} -c listen_addresses=127.0.0.1 " + " ".join(f"-c {o}" for o in options)
    _run(control, "-D", str(data), "-l", str(folder / "log"), "-o", words, "-w", "start")
    try:
        yield f"postgres://postgres@127.0.0.1:{port}/postgres"
    finally:
        _run(control, "-D", str(data), "-m", "fast", "-w", "stop")
