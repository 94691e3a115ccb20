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

from tests import statements
from tests.databases import MIGRATED, kept, run

IN_CI = os.environ.get("CI") == "true"
FIRST_WITH_ICU = 15
MISSING = "no PostgreSQL server on this machine: install the package postgresql"
# of these every case is asked of PostgreSQL too: triggers, searches, orders, kinds of values that are kept
EACH_CASE_ASKS_OTHERWISE = (
    "tests/models/",
    "tests/proof/test_chain_database.py",
    "tests/proof/test_chain.py",
    "tests/api/test_lists.py",
    "tests/care/test_record.py",
    "tests/due/test_collection.py",
    "tests/navigation/test_find.py",
    "tests/spreadsheets/test_sheets_round_trip.py",
    "tests/recommission/test_recommissioning.py::test_the_database_itself_refuses",
)
# of these the first case: what they ask is not written by Django, or asked by connections of their own
ONE_CASE_ASKS_OTHERWISE = ("tests/operations/",)
# of these none: minutes of working out, on rows that other tests have it write and read
WORKED_OUT = (
    "tests/demo/test_building.py",
    "tests/due/test_whatif.py",
    "tests/history/test_past.py::test_the_demo_barns_past",
    "tests/round/test_worksheet_recommissioning.py::test_a_stop_at_a_step_is_said",
)
EVERYTHING = os.environ.get("LONGSTAND_POSTGRESQL") == "all"
SENT = "LONGSTAND_POSTGRESQL_SENT"  # names the file of what tests sent to SQLite, where it is known
# a server that lives for a test may forget everything in a power cut, but nothing when only it is killed
FORGETFUL = ("fsync=off", "full_page_writes=off", "shared_buffers=256MB")


def asked_again(items):
    """Which tests run again on PostgreSQL: of those that touch a database enough to ask it everything.

    A test of which nobody has noted what it sends is asked, by its first case.
    """
    items = [item for item in items if "db" in item.fixturenames or item.get_closest_marker("django_db")]
    if EVERYTHING:
        return items
    sent = statements.read(Path(os.environ[SENT])) if SENT in os.environ else {}
    sure, others, families = set(), {}, set()
    for item in items:
        family = item.nodeid.partition("[")[0]
        first = family not in families
        families.add(family)
        if family.startswith(WORKED_OUT):
            continue
        if family.startswith(EACH_CASE_ASKS_OTHERWISE) or (
            first and (item.nodeid not in sent or family.startswith(ONE_CASE_ASKS_OTHERWISE))
        ):
            sure.add(item.nodeid)
        elif item.nodeid in sent:
            others[item.nodeid] = sent[item.nodeid]
    covered = {kind for test in sure if test in sent for kind in sent[test][1]}
    again = sure | statements.cover(others, covered)
    return [item for item in items if item.nodeid in again]


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
