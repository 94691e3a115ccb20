"""What every test may use."""

import os

import pytest
from django.conf import settings
from django.db import connection
from django.test import override_settings
from django.test.utils import setup_databases, teardown_databases

from collection.web import limits
from tests.databases import alone, build_demo, ready_to_test

pytest_plugins = ("tests.barn",)

PLAIN = {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}


def pytest_xdist_auto_num_workers(config):
    """One more than there are cores: much of the time a test waits for a browser or a process beside it."""
    return (os.cpu_count() or 1) + 1


def pytest_collection_modifyitems(config, items):
    """On PostgreSQL only what touches a database is asked again: the rest has no other answer there."""
    if connection.vendor == "postgresql":
        aside = [
            item
            for item in items
            if "db" not in item.fixturenames and not item.get_closest_marker("django_db")
        ]
        config.hook.pytest_deselected(items=aside)
        items[:] = [item for item in items if item not in aside]


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


@pytest.fixture(scope="session")
def built_demo(tmp_path_factory):
    """The data folder of a demo barn of today, built once for all workers: to be copied, not changed."""
    base = tmp_path_factory.getbasetemp()
    base = base.parent if "PYTEST_XDIST_WORKER" in os.environ else base
    with alone(base / "demo.lock"):
        if not (base / "demo").exists():
            (base / "demo-half").mkdir()
            build_demo(base / "demo-half")
            (base / "demo-half").rename(base / "demo")
    return base / "demo"
