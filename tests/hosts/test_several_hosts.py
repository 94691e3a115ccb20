"""Two machines serve pages and two do jobs at one database; one of each dies in the middle of the work.

LONGSTAND_MACHINES sets how many times as many cars there are:

    LONGSTAND_MACHINES=4 uv run pytest -s tests/hosts
"""

import json
import os
import shutil
import subprocess
import sys
import time
from contextlib import ExitStack, contextmanager
from datetime import UTC, datetime, timedelta

import psycopg
import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat
from django.conf import settings

from scheduler.duties.table import DUTIES
from tests.hosts.machines import Machine, Phone, wait_until
from tests.postgresql import IN_CI, migrated, postgresql, unused_port

SIZES = [int(os.environ.get("LONGSTAND_MACHINES", "1")) * cars for cars in (500, 200, 100)]  # organisations
SOME = 200  # cars computed before anything dies
HELD_CAR = 250  # of the first organisation: who computes its part is held up in the middle of it
GOES_ON = 8  # entries of each phone after the kill
AT_MOST_S = 600  # how long anything may take on a machine that is busy with other things
FIRST = {
    "LONGSTAND_FIRST_ORGANISATION": "Hollin Barn",
    "LONGSTAND_FIRST_MANAGER_NAME": "Ada Wren",
    "LONGSTAND_FIRST_MANAGER_EMAIL": "ada@hollin.example",
    "LONGSTAND_FIRST_MANAGER_PASSWORD": "standing-since-1904",
}
PEM = (Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
HELD_UP_IN_A_PART = """
    SELECT count(*) FROM pg_stat_activity JOIN pg_locks USING (pid)
    WHERE application_name = %s AND relation = 'collection_runpart'::regclass AND mode = 'RowShareLock'
    AND %s = ANY (pg_blocking_pids(pid))
"""
COMPUTED = """
    SELECT (SELECT coalesce(sum(cars), 0) FROM collection_runpart)
    + (SELECT coalesce(sum(cars), 0) FROM collection_forecastrun WHERE trigger = 'nightly')
"""
RUNNING = "SELECT count(*) FROM collection_forecastrun WHERE state = 'running'"
# cars whose dates are neither all of one forecast nor all of another
HALF_WRITTEN = """
    SELECT count(*) FROM (SELECT 1 FROM collection_dutyrow GROUP BY vehicle_id
    HAVING count(*) <> %s OR count(DISTINCT computed_for) <> 1) AS half
"""


@contextmanager
def redis_server(folder):
    """The address of a Redis server that lives as long as the block and keeps nothing."""
    if not shutil.which("redis-server"):
        message = "no Redis server on this machine: install the package redis-server"
        pytest.fail(message) if IN_CI else pytest.skip(message)
    port = unused_port()
    command = ["redis-server", "--port", str(port), "--save", "", "--bind", "127.0.0.1", "--dir", folder]
    with subprocess.Popen(command, stdout=subprocess.DEVNULL) as server:  # noqa: S603 - ours
        try:
            yield f"redis://127.0.0.1:{port}/0"
        finally:
            server.kill()


class Installation:
    """Four machines at one database, with one secret, one signing key and one folder of photographs."""

    def __init__(self, address, folder, stack, **environment):
        self.folder, self.stack, self.key = folder, stack, Ed25519PrivateKey.generate().private_bytes(*PEM)
        self.environment = (
            FIRST
            | environment
            | {
                "LONGSTAND_DATABASE": address,
                "LONGSTAND_SECRET_KEY": "a secret for the test " * 3,
                "LONGSTAND_MEDIA": str(folder / "media"),
            }
        )
        self.database = stack.enter_context(psycopg.connect(address, autocommit=True))

    def machine(self, name, only):
        (self.folder / name).mkdir()
        (self.folder / name / "signing-key.pem").write_bytes(self.key)  # as an operator copies it
        machine = Machine(name, only, self.folder / name, **self.environment)
        self.stack.callback(machine.stop)
        return machine

    def ask(self, query, *values):
        return self.database.execute(query, values).fetchone()[0]

    def beside(self, *arguments):
        """What tests.hosts.beside answers, from a process of its own on one of the machines."""
        done = subprocess.run(  # noqa: S603 - our own command line
            [sys.executable, "-m", "tests.hosts.beside", arguments[0], *map(json.dumps, arguments[1:])],
            cwd=settings.BASE_DIR,
            env=self.machines[0].environment,
            capture_output=True,
            text=True,
            check=False,
        )
        assert done.returncode == 0, done.stderr[-3000:]
        return json.loads(done.stdout.splitlines()[-1])

    def start(self):
        """All four at once: the first prepares the database, the others wait."""
        names = (("web-a", "web"), ("web-b", "web"), ("worker-a", "worker"), ("worker-b", "worker"))
        self.machines = [self.machine(*each) for each in names]
        for machine in self.machines:
            wait_until(machine.is_up, AT_MOST_S, f"{machine.name} to serve")


@pytest.fixture
def clear_of_midnight():
    """Dates are computed for a day: wait for the next where this one ends within the test."""
    now = datetime.now(UTC)
    left = datetime.combine(now.date(), datetime.min.time(), UTC) + timedelta(days=1) - now
    if left < timedelta(minutes=4):
        time.sleep(left.total_seconds() + 1)


@pytest.fixture
def installation(request, tmp_path, clear_of_midnight):
    """Four machines that serve, with their jobs waiting in the database or at a Redis server."""
    with ExitStack() as stack:
        address = stack.enter_context(postgresql())  # its first database is empty: the first start migrates
        queue = {}
        if request.param == "redis":
            address = migrated(address)
            queue = {"LONGSTAND_QUEUE": stack.enter_context(redis_server(tmp_path))}
        site = Installation(address, tmp_path, stack, **queue)
        site.start()
        yield site


@pytest.mark.parametrize(
    "installation", [None, "redis"], indirect=True, ids=["jobs in the database", "jobs in redis"]
)
def test_every_car_is_computed_and_no_entry_lost_when_a_web_and_a_worker_die(installation):
    site, (web_a, web_b, *workers) = installation, installation.machines
    assert site.ask("SELECT count(*) FROM collection_person") == 1, "the first manager was made once"
    keepers = site.beside("build", SIZES)
    phones = [Phone(keeper, [web_a, web_b], keeper["cars"][::3]) for keeper in keepers[:3]]
    with holding(site, keepers[0]["cars"][HELD_CAR]) as our_pid:
        site.beside("begin")
        wait_until(lambda: site.ask(COMPUTED), AT_MOST_S, "the first part")
        for phone in phones:
            phone.start()
        victim = wait_until(lambda: held_up(site, workers, our_pid), AT_MOST_S, "a worker in a part")
        wait_until(lambda: site.ask(COMPUTED) >= SOME, AT_MOST_S, "the first parts")
        victim.kill()
        web_a.kill()
    before = [len(phone.stored) for phone in phones]
    assert site.ask(RUNNING) > 0, "the kill came too late to show anything"
    assert site.ask(HALF_WRITTEN, len(DUTIES)) == 0
    wait_until(lambda: not site.ask(RUNNING), AT_MOST_S, "the runs to end")
    wait_until(lambda: all(map(went_on, phones, before)), AT_MOST_S, "more entries")
    for phone in phones:
        phone.done.set()
    for phone in phones:
        phone.join(AT_MOST_S)
    check_entries(site, phones)
    check_runs(site, keepers)
    assert site.ask(HALF_WRITTEN, len(DUTIES)) == 0
    assert site.beside("compare") == {"rows": sum(SIZES) * len(DUTIES), "wrong": 0, "missing": 0}


@contextmanager
def holding(site, car):
    """Hold a car as somebody who logs at it does, so that a worker stands still in the middle of its part."""
    with psycopg.connect(site.environment["LONGSTAND_DATABASE"]) as connection:
        connection.execute("SELECT 1 FROM collection_vehicle WHERE id = %s FOR NO KEY UPDATE", [car])
        yield connection.info.backend_pid


def held_up(site, workers, our_pid):
    """The worker that has a part in hand and waits for what we hold."""
    return next((worker for worker in workers if site.ask(HELD_UP_IN_A_PART, worker.name, our_pid)), None)


def went_on(phone, number):
    """Whether it has stored some more than that number, or has no more to store."""
    return len(phone.stored) >= number + GOES_ON or not phone.is_alive()


def check_entries(site, phones):
    """What a phone was told is stored, is stored, once; and the chains hold."""
    assert not [error for phone in phones for error in phone.errors]
    assert sum(phone.retries for phone in phones) > 0, "no phone met the web that died"
    kept = dict(site.database.execute("SELECT idempotency_key, count(*) FROM collection_entry GROUP BY 1"))
    told = {key for phone in phones for key in phone.stored}
    assert len(told) > 20
    assert {key: kept.get(key) for key in told} == dict.fromkeys(told, 1)
    assert set(kept.values()) == {1}
    assert site.ask("SELECT count(*) FROM collection_link") == sum(kept.values())
    manage = [sys.executable, settings.BASE_DIR / "manage.py", "verify_history", "--database"]
    done = subprocess.run(  # noqa: S603 - ours
        manage, env=site.machines[0].environment, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr


def check_runs(site, keepers):
    """Each run says that it is done, with every car of its organisation counted once and none at fault."""
    rows = site.database.execute(
        "SELECT organisation_id, state, cars, errors, seconds > 0 FROM collection_forecastrun"
        " WHERE trigger = 'nightly' AND cars > 0 ORDER BY 1"
    ).fetchall()
    assert rows == [(k["organisation"], "done", len(k["cars"]), [], True) for k in keepers]
    assert site.ask("SELECT count(*) FROM collection_runpart") == 0
