"""The same rules on PostgreSQL: what leans on the database is run again on a server made for it."""

import glob
import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest
from django.conf import settings
from django.db import connection

from tests.collection.test_commands import unused_port

# one entry a key, row locks, what may only grow, jobs, the whole demo sent in entry by entry
RULES = (
    "test_append_only.py",
    "test_care_log.py",
    "test_background.py",
    "test_demo.py::test_every_entry_would_have_been_accepted_from_a_keeper_at_the_time",
    "test_demo.py::test_every_duty_of_every_car_is_computed_without_error",
)
IN_CI = os.environ.get("CI") == "true"


def program(name):
    """PostgreSQL's own program, on the path or where Debian keeps it."""
    kept = sorted(glob.glob(f"/usr/lib/postgresql/*/bin/{name}"))
    return shutil.which(name) or (kept[-1] if kept else None)


def as_server(*command):
    """Run as the user whom PostgreSQL accepts: it refuses to be run by root."""
    user = ["runuser", "-u", "postgres", "--"] if os.geteuid() == 0 else []
    done = subprocess.run([*user, *command], capture_output=True, text=True, check=False)  # noqa: S603 - ours
    assert done.returncode == 0, done.stderr


@pytest.fixture
def server():
    """The address of a PostgreSQL server that lives for one test."""
    if not program("initdb"):
        message = "no PostgreSQL server: install the package postgresql"
        pytest.fail(message) if IN_CI else pytest.skip(message)
    folder, port = Path(tempfile.mkdtemp(prefix="longstand-")), unused_port()
    if os.geteuid() == 0:
        shutil.chown(folder, "postgres")
    data, control = str(folder / "data"), program("pg_ctl")
    as_server(program("initdb"), "-D", data, "-A", "trust", "-U", "postgres", "-E", "UTF8", "--locale=C")
    options = f"-p {port} -k {folder} -c listen_addresses=127.0.0.1 -c fsync=off"
    as_server(control, "-D", data, "-l", str(folder / "log"), "-o", options, "-w", "start")
    try:
        yield f"postgres://postgres@127.0.0.1:{port}/postgres"
    finally:
        as_server(control, "-D", data, "-m", "immediate", "-w", "stop")
        shutil.rmtree(folder)


@pytest.mark.skipif(connection.vendor == "postgresql", reason="these tests run on PostgreSQL already")
def test_what_leans_on_the_database_holds_on_postgresql(server, tmp_path):
    done = subprocess.run(  # noqa: S603 - our own command line
        [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider",
         *(f"tests/collection/{name}" for name in RULES)],
        cwd=settings.BASE_DIR, capture_output=True, text=True, check=False,
        env=os.environ | {"LONGSTAND_DATABASE": server, "LONGSTAND_DATA": str(tmp_path)},
    )  # fmt: skip
    assert done.returncode == 0, done.stdout[-6000:] + done.stderr[-2000:]
    assert " passed" in done.stdout
