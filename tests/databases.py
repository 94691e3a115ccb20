"""Databases brought up to date once and copied, for each worker and each installation that a test makes.

A migration of everything takes longer than most tests. What is kept lies in the folder of pytest's cache
under a digest of what it was made from, so that a changed table or version makes it anew.
"""

import fcntl
import hashlib
import os
import shutil
import sqlite3
import subprocess
import sys
import tempfile
from contextlib import contextmanager
from pathlib import Path

from django.conf import settings

KEPT = settings.BASE_DIR / ".pytest_cache" / "databases"
MIGRATED = "migrated"  # the database of our PostgreSQL servers that others are copied from


@contextmanager
def alone(lock):
    """One process after the other; a process that dies holds up nobody."""
    with lock.open("w") as file:
        fcntl.flock(file, fcntl.LOCK_EX)
        yield


@contextmanager
def kept(name):
    """Where a thing is kept between runs, and whether it must be made: by one process, while others wait."""
    made_from = hashlib.sha256((settings.BASE_DIR / "pyproject.toml").read_bytes())
    for folder in ("models", "migrations"):
        for file in sorted((settings.BASE_DIR / "collection" / folder).glob("*.py")):
            made_from.update(file.read_bytes())
    folder = KEPT / made_from.hexdigest()[:16]
    folder.mkdir(parents=True, exist_ok=True)
    with alone(KEPT / "lock"):
        for old in KEPT.iterdir():
            if old.is_dir() and old != folder:
                shutil.rmtree(old)
        yield folder / name, not (folder / name).exists()


def run(*arguments, **environment):
    """Run Python in a process of its own, with nothing else of ours set; it must go well."""
    clean = {key: value for key, value in os.environ.items() if not key.startswith(("LONGSTAND_", "DJANGO_"))}
    done = subprocess.run(  # noqa: S603 - our own command line
        [sys.executable, *arguments],
        cwd=settings.BASE_DIR,
        env=clean | environment,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr


def migrated_file():
    """An SQLite database with every table and no row of ours."""
    with kept("migrated.sqlite3") as (file, is_missing):
        if is_missing:
            with tempfile.TemporaryDirectory() as folder:
                run("manage.py", "migrate", LONGSTAND_DATA=folder)
                shutil.move(Path(folder, "longstand.sqlite3"), file)
    return file


def put_migrated_file(folder):
    """An installation's SQLite database in its data folder, as its first start leaves it after migrating."""
    shutil.copyfile(migrated_file(), folder / "longstand.sqlite3")


@contextmanager
def ready_to_test(connection):
    """Give the test database of this worker its tables before Django looks: it finds nothing to migrate.

    Where a PostgreSQL server has none to copy from, Django migrates by itself.
    """
    name = connection.creation._get_test_db_name()
    if connection.vendor == "sqlite":
        memory = sqlite3.connect(name, uri=True)  # the same as Django's as long as anybody has it open
        with sqlite3.connect(migrated_file()) as file:
            file.backup(memory)
        file.close()
        yield
        memory.close()
        return
    with connection.creation._nodb_cursor() as cursor:
        cursor.execute("SELECT count(*) FROM pg_database WHERE datname = %s", [MIGRATED])
        if cursor.fetchone()[0]:
            quoted = connection.ops.quote_name(name)
            cursor.execute(f"DROP DATABASE IF EXISTS {quoted}")
            cursor.execute(f"CREATE DATABASE {quoted} TEMPLATE {MIGRATED}")
    yield


BUILD_DEMO = """
import django
django.setup()
from django.test import Client
from django.utils import timezone
from collection import demo
from collection.models import Person
from collection.operations.installing import prepare
prepare(keys_changed=True)
demo.build(timezone.now())
# a plan is made when somebody looks, and tests ask it for cars
email = next(person.email for person in demo.SIGN_INS if person.role == "staff")
keeper = Client(headers={"host": "localhost"})
keeper.force_login(Person.objects.get(email=email))
assert keeper.get("/week/").status_code == 200
"""


def build_demo(folder):
    """The demo barn of today in a data folder, as ``manage.py demo`` and a look at its week leave it."""
    file = folder / "demo.sqlite3"
    shutil.copyfile(migrated_file(), file)
    run(
        "-c",
        BUILD_DEMO,
        DJANGO_SETTINGS_MODULE="collection.settings",
        LONGSTAND_DATA=str(folder),
        LONGSTAND_DATABASE=f"sqlite:///{file}",
        LONGSTAND_MEDIA=str(folder / "demo-media"),
    )
