"""The same tests on PostgreSQL: of those that touch a database enough to ask it all that SQLite was asked.

The whole run notes what each test sends (tests/statements.py), and this comes last in it. A test is run
again where it sends a kind of statement that no other test run again sends, or where it stands in
``EACH_CASE_ASKS_OTHERWISE`` (tests/postgresql.py). Run alone, it asks one case of every test; and every case:

    LONGSTAND_POSTGRESQL=all uv run pytest tests/operations/test_postgresql.py
"""

import os
import subprocess
import sys

import pytest
from django.conf import settings
from django.db import connection

from tests.postgresql import EACH_CASE_ASKS_OTHERWISE, ONE_CASE_ASKS_OTHERWISE, SENT, WORKED_OUT, postgresql
from tests.statements import cover, gathered, kind_of

# what asks no database of ours, or starts a PostgreSQL server of its own
ELSEWHERE = {"browser", "faults", "hosts", "scheduler"}
OF_THEIR_OWN = (
    "tests/operations/test_settings.py",  # processes that only read the environment
    "tests/loggers/test_logger_reading.py",  # files only
    *(f"tests/attacks/test_{name}.py" for name in ("contained", "texts", "pdfs", "handover_files", "asvs")),
    "tests/spreadsheets/test_sheets_reading.py",
    "tests/api/test_api_description.py",  # a server of its own, on SQLite
    # both databases by themselves
    "tests/attacks/test_restore.py",
    "tests/operations/test_backup.py",
    "tests/operations/test_doctor.py",
    "tests/care/test_fifty_at_once.py",
    "tests/operations/test_upgrade.py",
    "tests/operations/test_commands.py::test_the_demo_started_again_starts_again_and_touches_no_other_database",
)
PROCESSES = str(min(4, os.cpu_count() or 1))


@pytest.fixture
def server():
    """The address of a PostgreSQL server that lives for one test."""
    with postgresql() as address:
        yield address


def folders():
    """Every folder of tests but those, so that a new one is not forgotten."""
    tests = settings.BASE_DIR / "tests"
    names = {file.relative_to(tests).parts[0] for file in tests.glob("*/**/test_*.py")}
    assert names > ELSEWHERE
    return sorted(f"tests/{name}" for name in names - ELSEWHERE)


@pytest.mark.skipif(connection.vendor == "postgresql", reason="these tests run on PostgreSQL already")
def test_what_is_asked_of_a_database_is_answered_by_postgresql_too(server, tmp_path, whole_run):
    environment = os.environ | {"LONGSTAND_DATABASE": server, "LONGSTAND_DATA": str(tmp_path)}
    if gathered(whole_run, tmp_path / "sent"):
        environment[SENT] = str(tmp_path / "sent")
    command = [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", "-n", PROCESSES, "--tb=short"]
    done = subprocess.run(  # noqa: S603 - our own command line
        [*command, *folders(), *(f"--deselect={name}" for name in OF_THEIR_OWN)],
        cwd=settings.BASE_DIR,
        capture_output=True,
        text=True,
        check=False,
        env=environment,
    )
    if done.returncode != 0:
        pytest.fail(f"on PostgreSQL:\n{done.stdout[-30_000:]}{done.stderr[-4000:]}", pytrace=False)
    assert " passed" in done.stdout


def test_what_stands_in_a_list_of_tests_is_there():
    named = (*EACH_CASE_ASKS_OTHERWISE, *ONE_CASE_ASKS_OTHERWISE, *WORKED_OUT, *OF_THEIR_OWN)
    assert [name for name in named if not (settings.BASE_DIR / name.partition("::")[0]).exists()] == []


def test_statements_of_one_kind_differ_by_numbers_of_values_limits_and_savepoints_alone():
    one = kind_of("SELECT a FROM b WHERE c IN (%s, %s) LIMIT 5")
    assert one == kind_of("SELECT a FROM b WHERE c IN (%s) LIMIT 20")
    assert one != kind_of("SELECT a FROM b WHERE c = %s LIMIT 5")
    assert kind_of("SAVEPOINT s1_x2") == kind_of("SAVEPOINT s1_x3") != kind_of("RELEASE SAVEPOINT s1_x3")
    assert kind_of("INSERT INTO b VALUES (%s, %s), (%s, %s)") == kind_of("INSERT INTO b VALUES (%s, %s)")


def test_those_chosen_send_every_kind_that_all_send_and_none_is_chosen_for_nothing():
    sent = {"a": (4, {"1", "2"}), "b": (4, {"2", "3"}), "c": (2, {"3"}), "d": (900, {"1", "2", "3"})}
    sent["e"] = (5, {"4"})
    chosen = cover(sent, {"4"})
    assert set().union(*(sent[test][1] for test in chosen)) == {"1", "2", "3"}
    assert chosen == {"a", "c"}
