"""A PostgreSQL server for a test or a bench, on this machine; in CI there must be one."""

import glob
import os
import re
import shutil
import socket
import subprocess
import tempfile
from contextlib import contextmanager
from pathlib import Path

import pytest

IN_CI = os.environ.get("CI") == "true"
FIRST_WITH_ICU = 15
MISSING = "no PostgreSQL server on this machine: install the package postgresql"


def program(name):
    """PostgreSQL's own program, on the path or where Debian keeps it."""
    kept = sorted(glob.glob(f"/usr/lib/postgresql/*/bin/{name}"))
    return shutil.which(name) or (kept[-1] if kept else None)


def as_server(*command):
    """Run as the user whom PostgreSQL accepts: it refuses to be run by root."""
    user = ["runuser", "-u", "postgres", "--"] if os.geteuid() == 0 else []
    done = subprocess.run([*user, *command], capture_output=True, text=True, check=False)  # noqa: S603 - ours
    assert done.returncode == 0, done.stderr


def unused_port():
    with socket.create_server(("127.0.0.1", 0)) as listener:
        return listener.getsockname()[1]


def collation():
    """Names sorted as a real installation's database sorts them, not by their bytes; from version 15 on."""
    said = subprocess.run([program("initdb"), "--version"], capture_output=True, text=True, check=True)  # noqa: S603
    version = int(re.search(r"(\d+)", said.stdout)[1])
    return ["--locale-provider=icu", "--icu-locale=en-GB"] if version >= FIRST_WITH_ICU else []


@contextmanager
def postgresql():
    """The address of a server that lives as long as the block; where there is none, CI fails."""
    if not program("initdb"):
        pytest.fail(MISSING) if IN_CI else pytest.skip(MISSING)
    folder, port = Path(tempfile.mkdtemp(prefix="longstand-")), unused_port()
    if os.geteuid() == 0:
        shutil.chown(folder, "postgres")
    data, control = str(folder / "data"), program("pg_ctl")
    make = [program("initdb"), "-D", data, "-A", "trust", "-U", "postgres", "-E", "UTF8", "--locale=C"]
    as_server(*make, *collation())
    options = f"-p {port} -k {folder} -c listen_addresses=127.0.0.1 -c fsync=off -c shared_buffers=256MB"
    as_server(control, "-D", data, "-l", str(folder / "log"), "-o", options, "-w", "start")
    try:
        yield f"postgres://postgres@127.0.0.1:{port}/postgres"
    finally:
        as_server(control, "-D", data, "-m", "immediate", "-w", "stop")
        shutil.rmtree(folder)
