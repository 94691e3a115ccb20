"""What every test may use."""

import gc
import os
import sys
import tempfile
from collections import Counter
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from django.conf import settings
from django.db import connection
from django.test import override_settings
from django.test.utils import setup_databases, teardown_databases

from collection.demo.places import TIME_ZONE
from collection.web import limits
from tests.databases import alone, build_demo, ready_to_test
from tests.postgresql import asked_again
from tests.statements import noted, statements_in

pytest_plugins = ("tests.barn",)

# Where Python may keep nothing that it compiled, each of the hundreds of processes that tests start
# compiles all of it again, two seconds or more each. Workers take this from here.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
sys.dont_write_bytecode = False

PLAIN = {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}


def pytest_xdist_auto_num_workers(config):
    """One more than there are cores: much of the time a test waits for a browser or a process beside it."""
    return (os.cpu_count() or 1) + 1


# What takes longest begins first, so that none of it is left to one worker at the end. A worker is given
# two files at once: the second waits for the first.
LONGEST = (
    "tests/browser/test_axe.py",
    "tests/hosts/test_several_hosts.py",
    "tests/vocabulary/test_recipes.py",
    "tests/operations/test_backup.py",
    "tests/browser/test_offline.py",
    "tests/attacks/test_restore.py",
    "tests/operations/test_doctor.py",
    "tests/operations/test_commands.py",
    "tests/operations/test_upgrade.py",
    "tests/recommission/test_recommissioning.py",
    "tests/people/test_permissions.py",
    "tests/demo/test_building.py",
    "tests/faults/test_killed.py",
    "tests/faults/test_fuzz.py",
    "tests/faults/test_outages.py",
    "tests/care/test_fifty_at_once.py",
    "tests/history/test_past.py",
)
# it asks only what others have not asked of SQLite, with workers of its own
AFTER_ALL = "tests/operations/test_postgresql.py"


def pytest_configure(config):
    """Workers take files in the order below: pytest-xdist would begin those of one long test last."""
    config.option.loadscopereorder = False
    assert all((config.rootpath / file).exists() for file in (*LONGEST, AFTER_ALL))


def pytest_collectstart():
    """Whatever is made until all tests are collected stays: looking through it again and again is lost."""
    gc.disable()


def pytest_collection_finish():
    """What all tests stand on is looked through no more."""
    gc.collect()
    gc.freeze()
    gc.enable()


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(config, items):
    """The longest files first, then those with most tests; on PostgreSQL only what is asked again there."""
    if connection.vendor == "postgresql":
        again = asked_again(items)
        config.hook.pytest_deselected(items=[item for item in items if item not in again])
        items[:] = again
    count = Counter(item.location[0] for item in items)
    turn = {file: number for number, file in enumerate(LONGEST)}
    turn[AFTER_ALL] = len(LONGEST) + 1
    items.sort(key=lambda item: (turn.get(item.location[0], len(LONGEST)), -count[item.location[0]]))


PATIENT_S = 600.0  # a busy machine reads a file more slowly than a page may take
QUICK_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]


@pytest.fixture(autouse=True, scope="session")
def quick_settings(tmp_path_factory):
    """No test waits for collectstatic (pages name static files as they lie in the source) or for
    a password hash that is slow on purpose, and none is ended because the machine is busy.
    """
    storages = settings.STORAGES | {"staticfiles": PLAIN}
    with (
        pytest.MonkeyPatch.context() as patch,
        override_settings(
            STORAGES=storages,
            PASSWORD_HASHERS=QUICK_HASHERS,
            STATIC_ROOT=tmp_path_factory.mktemp("static"),
            MEDIA_ROOT=tmp_path_factory.mktemp("media"),
            DATA_DIR=tmp_path_factory.mktemp("data"),  # where signing makes its key
        ),
    ):
        patch.setattr(limits, "LONGEST_S", PATIENT_S)
        yield


@pytest.fixture(scope="session")
def django_db_setup(django_test_environment, django_db_blocker, django_db_modify_db_settings):
    """The test database is a copy of one that was migrated before (in place of pytest-django's fixture)."""
    with django_db_blocker.unblock(), ready_to_test(connection):
        made = setup_databases(verbosity=0, interactive=False, keepdb=True)
    yield
    with django_db_blocker.unblock():
        teardown_databases(made, verbosity=0)


def folder_of_run(factory):
    """The folder of temporary files of this run, which all workers share."""
    base = factory.getbasetemp()
    return base.parent if "PYTEST_XDIST_WORKER" in os.environ else base


@pytest.hookimpl(wrapper=True)
def pytest_runtest_protocol(item):
    """What PostgreSQL need be asked again is chosen by what each test sends to SQLite."""
    if connection.vendor != "sqlite":
        return (yield)
    folder = statements_in(folder_of_run(item.config._tmp_path_factory))
    with noted(folder / os.environ.get("PYTEST_XDIST_WORKER", "alone"), item.nodeid):
        return (yield)


@pytest.fixture(scope="session")
def whole_run(tmp_path_factory):
    """The folder of temporary files of this run, which all workers share."""
    return folder_of_run(tmp_path_factory)


@pytest.fixture(scope="module")
def built_demo(whole_run):
    """The data folder of a demo barn of today, built once for all workers: to be copied, not changed."""
    base = whole_run
    folder = base / f"demo-{datetime.now(ZoneInfo(TIME_ZONE)).date()}"
    with alone(base / "demo.lock"):
        if not folder.exists():
            half = Path(tempfile.mkdtemp(dir=base))
            build_demo(half)
            half.rename(folder)
    return folder
