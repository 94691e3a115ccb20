"""Fifty people log at once, over HTTP, at the site as it is served: nothing is lost, nothing doubled."""

import json
import os
import statistics
import subprocess
import sys
import threading
import uuid
from contextlib import contextmanager
from datetime import UTC, datetime
from time import perf_counter, sleep

import pytest
from django.conf import settings

from collection.operations import serving
from tests.bench.bench_load import Browser
from tests.databases import put_migrated_file
from tests.postgresql import migrated, postgresql, unused_port
from tests.waiting import wait_for

EACH = int(os.environ.get("LONGSTAND_AT_ONCE", "1"))  # entries by a form, and as many by the queue, each
WITHIN_SECONDS = 300
BUSY = 503


@pytest.fixture(params=["sqlite", "postgresql"])
def environment(request, tmp_path):
    """Variables that name a new database of either kind."""
    names = {"LONGSTAND_DATA": str(tmp_path / "data"), "DJANGO_SETTINGS_MODULE": "collection.settings"}
    (tmp_path / "data").mkdir()
    if request.param == "sqlite":
        put_migrated_file(tmp_path / "data")
        yield os.environ | names | {"LONGSTAND_DATABASE": ""}
        return
    with postgresql() as address:
        yield os.environ | names | {"LONGSTAND_DATABASE": migrated(address)}


def run(environment, *words):
    """What one of our own programmes says; it must end well."""
    done = subprocess.run(  # noqa: S603 - our own command line
        [sys.executable, *words],
        cwd=settings.BASE_DIR,
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout[-4000:] + done.stderr[-4000:]
    return done.stdout


@contextmanager
def served(environment, log):
    port = unused_port()
    command = serving.web_command("127.0.0.1", port)
    with log.open("w") as out:
        site = subprocess.Popen(command, cwd=settings.BASE_DIR, env=environment, stdout=out, stderr=out)  # noqa: S603 - ours
        try:
            assert wait_for(port), log.read_text()
            yield port
        finally:
            site.terminate()
            site.wait(30)


class Hand(threading.Thread):
    """One of the staff: logs by form and by the phone's queue, and sends each queue twice."""

    def __init__(self, port, barn, number, gate):
        super().__init__()
        self.number, self.gate, self.barn = number, gate, barn
        self.me = barn["staff"][number]
        self.browser = Browser(port, self.me["session"])
        self.acknowledged, self.seconds, self.fault = [], [], ""

    def run(self):
        try:
            self.timed("GET", f"/cars/{self.car(0)}/log/charge/")  # the form, and what it is sent with
            self.gate.wait()
            for turn in range(EACH):
                self.by_form(self.car(turn))
                self.by_phone(self.car(turn + 5))
        except Exception as error:  # told by the test, which waits for every thread
            self.fault = f"hand {self.number}: {error!r}"
        finally:
            self.browser.connection.close()

    def car(self, turn):
        cars = self.barn["cars"]
        return cars[(self.number + turn) % len(cars)]

    def timed(self, *words, **values):
        """The answer; one who is told to come again later does, as a person and the phone would."""
        began = perf_counter()
        answer = self.browser.ask(*words, **values)
        while answer[0] == BUSY and perf_counter() - began < WITHIN_SECONDS:
            sleep(1)
            answer = self.browser.ask(*words, **values)
        self.seconds.append(perf_counter() - began)
        return answer

    def by_form(self, car):
        key = str(uuid.uuid4())
        form = {"key": key, "rested_volts": "12.41", "completed": "on"}
        status, headers, body = self.timed("POST", f"/cars/{car}/log/charge/", form=form)
        assert (status, headers["Location"]) == (302, f"/cars/{car}/"), (status, body[-2000:])
        self.acknowledged.append(key)

    def by_phone(self, car):
        key, now = str(uuid.uuid4()), datetime.now(UTC).isoformat()
        entry = {
            "key": key,
            "car": car,
            "kind": "inspected",
            "duty": "",
            "units": "metric",
            "fields": {"ok": ["on"]},
            "done_at": now,
            "seen": now,
        }
        sent = {"sent_at": now, "person": self.me["person"], "organisation": self.barn["organisation"]}
        for state in ("stored", "before"):
            status, _, body = self.timed("POST", "/worksheet/entries/", json=sent | {"entries": [entry]})
            assert status == 200, (status, body[-2000:])
            outcome = json.loads(body)["outcomes"][0]
            assert outcome["state"] == state, outcome
        self.acknowledged.append(key)


def test_fifty_staff_log_at_once_and_every_entry_stands_once(environment, tmp_path, capsys):
    barn = json.loads(run(environment, "-m", "tests.care.barn_of_fifty", "open"))
    before = len(json.loads(run(environment, "-m", "tests.care.barn_of_fifty", "count")))
    gate = threading.Barrier(len(barn["staff"]))
    with served(environment, tmp_path / "site.log") as port:
        hands = [Hand(port, barn, number, gate) for number in range(len(barn["staff"]))]
        began = perf_counter()
        for hand in hands:
            hand.start()
        for hand in hands:
            hand.join(WITHIN_SECONDS)
        took = perf_counter() - began
    log = (tmp_path / "site.log").read_text()
    assert not any(hand.is_alive() for hand in hands), log[-4000:]
    assert [hand.fault for hand in hands if hand.fault] == [], log[-4000:]
    acknowledged = [key for hand in hands for key in hand.acknowledged]
    assert len(acknowledged) == len(set(acknowledged)) == 2 * EACH * 50
    stand = json.loads(run(environment, "-m", "tests.care.barn_of_fifty", "count"))
    assert set(acknowledged) <= set(stand), "every entry that was acknowledged stands"
    assert len(stand) == len(set(stand)) == before + len(acknowledged), "and stands once"
    run(environment, "manage.py", "verify_history", "--database")
    times = sorted(second for hand in hands for second in hand.seconds)
    with capsys.disabled():
        sys.stdout.write(
            f"\n50 at once, {len(acknowledged)} entries in {took:.1f} s; an answer took "
            f"{statistics.median(times):.2f} s, 95 % under {times[int(0.95 * len(times))]:.2f} s\n"
        )
