"""PostgreSQL servers for tests and benches, on this machine; in CI there must be one."""

import glob
import os
import re
import shutil
import socket
import subprocess
import tempfile
from contextlib import contextmanager
from pathlib import Path

import psycopg
import pytest

from tests.databases import MIGRATED, kept, run

IN_CI = os.environ.get("CI") == "true"
FIRST_WITH_ICU = 15
MISSING = "no PostgreSQL server on this machine: install the package postgresql"
# of these every case is asked of PostgreSQL too, of other tests the first
EACH_CASE_ASKS_OTHERWISE = (  # triggers, locks, searches, orders, kinds of values that are kept
    "tests/models/",
    "tests/proof/",
    "tests/spreadsheets/",
    "tests/api/test_lists.py",
    "tests/care/test_attachments.py",
    "tests/care/test_care_log.py",
    "tests/care/test_record.py",
    "tests/due/test_collection.py",
    "tests/due/test_due.py",
    "tests/navigation/test_find.py",
    "tests/recommission/test_recommissioning.py::test_the_database_itself_refuses",
)
# of these none: minutes of working out, on rows that other tests have it write and read
WORKED_OUT = (
    "tests/demo/test_building.py",
    "tests/due/test_whatif.py",
    "tests/round/test_worksheet_recommissioning.py::test_a_stop_at_a_step_is_said",
)
EVERYTHING = os.environ.get("LONGSTAND_POSTGRESQL") == "all"
# a server that lives for a test may forget everything in a power cut, but nothing when only it is killed
FORGETFUL = ("fsync=off", "full_page_writes=off", "shared_buffers=256MB")


def asked_again(items):
    """Which tests run again on PostgreSQL: those that touch a database, in one case or in all of them."""
    again, families = [], set()
    for item in items:
        if "db" not in item.fixturenames and not item.get_closest_marker("django_db"):
            continue  # it has no other answer there
        family = item.nodeid.partition("[")[0]
        asked = family not in families or family.startswith(EACH_CASE_ASKS_OTHERWISE)
        if EVERYTHING or (asked and not family.startswith(WORKED_OUT)):
            again.append(item)
        families.add(family)
    return again


def program(name):
    """PostgreSQL's own program, on the path or where Debian keeps it; None where there is none."""
    found = sorted(glob.glob(f"/usr/lib/postgresql/*/bin/{name}"))
    return shutil.which(name) or (found[-1] if found else None)


def as_server(*command):
    """Run as the user whom PostgreSQL accepts: it refuses to be run by root."""
    user = ["runuser", "-u", "postgres", "--"] if os.geteuid() == 0 else []
    done = subprocess.run([*user, *command], capture_output=True, text=True, check=False)  # noqa: S603 - ours
    assert done.returncode == 0, done.stderr


def unused_port():
    with socket.create_server(("127.0.0.1", 0)) as listener:
        return listener.getsockname()[1]


def version():
    said = subprocess.run([program("initdb"), "--version"], capture_output=True, text=True, check=True)  # noqa: S603
    return int(re.search(r"(\d+)", said.stdout)[1])


def collation():
    """Names sorted as a real installation's database sorts them, not by their bytes; from version 15 on."""
    return ["--locale-provider=icu", "--icu-locale=en-GB"] if version() >= FIRST_WITH_ICU else []


def start(folder, port, *options):
    """Start the server whose data stand in a folder, and wait until it answers."""
    words = f"-p {port} -k {folder} -c listen_addresses=127.0.0.1 " + " ".join(f"-c {o}" for o in options)
    as_server(
        program("pg_ctl"), "-D", str(folder / "data"), "-l", str(folder / "log"), "-o", words, "-w", "start"
    )


def stop(folder, how):
    as_server(program("pg_ctl"), "-D", str(folder / "data"), "-m", how, "-w", "stop")


@contextmanager
def kept_server(folder, *options):
    """The address of a server whose data stand in ``folder``; made there if need be, and kept.

    Every user must be able to reach the folder: the server does not run as root.
    """
    folder.mkdir(parents=True, exist_ok=True)
    if os.geteuid() == 0:
        shutil.chown(folder, "postgres")
    if not (folder / "data").exists():
        make = [program("initdb"), "-D", str(folder / "data"), "-A", "trust", "-U", "postgres", "-E", "UTF8"]
        as_server(*make, "--locale=C", *collation())
    port = unused_port()
    start(folder, port, *options)
    try:
        yield f"postgres://postgres@127.0.0.1:{port}/postgres"
    finally:
        stop(folder, "fast")


@contextmanager
def folder_for_a_server():
    folder = Path(tempfile.mkdtemp(prefix="longstand-"))  # not pytest's, which only its own user may enter
    try:
        yield folder
    finally:
        shutil.rmtree(folder)


@contextmanager
def postgresql():
    """The address of a server that lives as long as the block; where there is none, CI fails.

    Its database ``postgres`` is empty, ``migrated`` has every table and no row of ours.
    """
    if not program("initdb"):
        pytest.fail(MISSING) if IN_CI else pytest.skip(MISSING)
    with folder_for_a_server() as folder:
        if os.geteuid() == 0:
            shutil.chown(folder, "postgres")
        _copy(_made(), folder / "data")
        port = unused_port()
        start(folder, port, *FORGETFUL)
        try:
            yield f"postgres://postgres@127.0.0.1:{port}/postgres"
        finally:
            stop(folder, "immediate")


def migrated(address):
    """The database with every table of the same server."""
    return f"{address.rpartition('/')[0]}/{MIGRATED}"


def _made():
    """The data of a server that has a migrated database."""
    with kept(f"postgresql-{version()}") as (data, is_missing):
        if is_missing:
            with folder_for_a_server() as folder:
                with kept_server(folder, *FORGETFUL) as address, tempfile.TemporaryDirectory() as ours:
                    with psycopg.connect(address, autocommit=True) as server:
                        server.execute(f"CREATE DATABASE {MIGRATED}")
                    run("manage.py", "migrate", LONGSTAND_DATA=ours, LONGSTAND_DATABASE=migrated(address))
                _copy(folder / "data", data)
    return data


def _copy(data, to):
    """With owners and rights: the server reads only what is its own."""
    subprocess.run(["cp", "-a", "-T", data, to], check=True)  # noqa: S603, S607 - our own folders
