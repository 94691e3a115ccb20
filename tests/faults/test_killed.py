"""The whole site is killed in the middle of writing, again and again: what was acknowledged is there, once.

LONGSTAND_KILLS sets the number of rounds on each database, counts are printed:

    LONGSTAND_KILLS=100 uv run pytest -s tests/faults/test_killed.py
"""

import io
import json
import os
import random
import threading
import time
import uuid

import pytest
from PIL import Image

from tests.faults.nasty import multipart, urlencoded
from tests.faults.running import CHECK, TOKEN, Running, charge
from tests.operations.test_postgresql import server  # noqa: F401 - a fixture
from tests.postgresql import migrated
from tests.waiting import wait_for

ROUNDS = int(os.environ.get("LONGSTAND_KILLS", "3"))
WITH_WORKER = 5  # in one round of so many: its start takes longer than that of the pages


class Clients:
    """People at work: each sends one thing after the other, and the same again until it is acknowledged."""

    def __init__(self, site, chance):
        self.site, self.stop = site, threading.Event()
        self.acknowledged, self.again, self.found_stored, self.wrong = [], 0, 0, []
        ways = (self.by_phone, self.by_phone, self.by_page, self.with_photograph)
        chances = [random.Random(chance.random()) for _ in ways]  # noqa: S311 - the same work each time
        self.threads = [
            threading.Thread(target=self.work, args=each) for each in zip(ways, chances, strict=True)
        ]

    def work(self, way, chance):
        while not self.stop.is_set():
            keys = [str(uuid.UUID(int=chance.getrandbits(128))) for _ in range(chance.choice((1, 1, 3)))]
            car, picture = chance.choice(self.site.facts["cars"]), _picture(chance)
            entries = [charge(key, car) for key in keys]
            while not self.try_once(way, car, entries, picture):
                self.again += 1
                time.sleep(0.25)
            self.acknowledged += keys if way == self.by_phone else keys[:1]

    def try_once(self, way, car, entries, picture):
        try:
            return way(car, entries, picture)
        except OSError:
            return False

    def by_phone(self, _car, entries, _picture):
        status, _, said = self.site.send_entries(*entries, timeout=20)
        if status != 200:
            self.wrong += [said] if status < 500 else []
            return False
        states = [outcome["state"] for outcome in json.loads(said)["outcomes"]]
        self.found_stored += states.count("before")
        self.wrong += [said] if {*states} - {"stored", "before", "failed"} else []
        return "failed" not in states

    def by_page(self, car, entries, _picture):
        fields = [*_form(entries), ("note", "Seen, all well.")]
        return self.posted(car, urlencoded(fields), "application/x-www-form-urlencoded")

    def with_photograph(self, car, entries, picture):
        fields = [*_form(entries), ("note", "As it stands.")]
        body = multipart(fields, [("attachments", ("tyre.jpg", "image/jpeg", picture))])
        return self.posted(car, body, "multipart/form-data; boundary=frontier")

    def posted(self, car, body, content_type):
        status, _, said = self.site.request("POST", f"/cars/{car}/log/note/", body, content_type, timeout=20)
        self.wrong += [said] if status == 200 else []
        return status == 302

    def finish(self):
        self.stop.set()
        for thread in self.threads:
            thread.join(60)
            assert not thread.is_alive()


def _form(entries):
    return [("csrfmiddlewaretoken", TOKEN), ("key", entries[0]["key"]), ("done_at", "")]


def _picture(chance):
    out = io.BytesIO()
    Image.frombytes("RGB", (40, 30), chance.randbytes(3600)).save(out, "JPEG")
    return out.getvalue()


@pytest.fixture(params=["SQLite", "PostgreSQL"])
def site(request, tmp_path):
    folder, environment = tmp_path / "data", {"LONGSTAND_DATABASE": ""}
    folder.mkdir()
    if request.param == "PostgreSQL":
        environment["LONGSTAND_DATABASE"] = migrated(request.getfixturevalue("server"))
    running = Running(folder, **environment)
    yield running
    running.kill()


def test_what_was_acknowledged_survives_a_kill_once_and_whole(site):
    chance = random.Random(20261125)  # noqa: S311 - the same kills each time
    clients = Clients(site, chance)
    for thread in clients.threads:
        thread.start()
    try:
        for number in range(ROUNDS):
            site.start(worker=number % WITH_WORKER == 0)
            before = len(clients.acknowledged)
            time.sleep(chance.uniform(0.1, 0.6))
            _wait_for_more(clients, before)
            site.kill()
        with site.serve():  # comes up without a complaint, and the clients get the rest of theirs in
            clients.finish()
            assert wait_for(site.port)
    finally:
        clients.stop.set()
        site.kill()
    after = site.ask(CHECK)
    assert clients.wrong == []
    assert after["faults"] == []
    assert {key: after["kept"].get(key) for key in clients.acknowledged} == dict.fromkeys(
        clients.acknowledged, 1
    )
    assert set(after["kept"].values()) == {1}
    assert after["links"] == len(after["kept"]) >= len(clients.acknowledged) > 2 * ROUNDS
    assert after["files"] > 0
    print(  # noqa: T201
        f"{ROUNDS} rounds, {len(clients.acknowledged)} acknowledged, {clients.again} sent again, "
        f"{clients.found_stored} found stored, {after['files']} files"
    )


def _wait_for_more(clients, before):
    """A slow machine has its first answers before the kill."""
    deadline = time.monotonic() + 20
    while len(clients.acknowledged) < before + 4 and time.monotonic() < deadline:
        time.sleep(0.01)
