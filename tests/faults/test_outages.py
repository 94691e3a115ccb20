"""Disk full, disk read-only, database busy or gone: plain words, nothing lost, and it goes on by itself."""

import errno
import json
import os
import re
import sqlite3
import subprocess
import time
import uuid
from contextlib import contextmanager
from pathlib import Path

import psycopg
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import DatabaseError, OperationalError
from django.test import Client
from django.urls import reverse

from collection.host import atomic_files as durable
from collection.host import outage
from collection.host.outage import outage_of
from collection.life.core import compute
from collection.models import Attachment, DutyRow, Entry
from tests.faults.nasty import WHOLE, multipart, urlencoded
from tests.faults.running import CHECK, TOKEN, Running, charge
from tests.hosts.machines import wait_until
from tests.operations.test_postgresql import server  # noqa: F401 - a fixture
from tests.operations.test_settings import manage
from tests.postgresql import FORGETFUL, migrated, start, stop, unused_port
from tests.round.test_worksheet_entries import charge as sent_charge

PAGES = ("/due/", "/cars/", "/week/", "/places/", "/trust/")
TYPED = "Seen on the ramp, all well."


# what is an outage, and what is a fault of ours


def from_sqlite(doing, error=OperationalError):
    try:
        doing()
    except sqlite3.Error as cause:
        wrapped = error(str(cause))
        wrapped.__cause__ = cause
        return wrapped
    raise AssertionError("it worked")


def full_database(folder):
    database = sqlite3.connect(folder / "full")
    database.execute("PRAGMA max_page_count = 2")
    return from_sqlite(lambda: database.executescript("CREATE TABLE a (b); CREATE TABLE c (d);"))


def readonly_database(folder):
    database = sqlite3.connect(folder / "readonly")
    database.execute("PRAGMA query_only = ON")
    return from_sqlite(lambda: database.execute("CREATE TABLE a (b)"))


def busy_database(folder):
    sqlite3.connect(folder / "busy").execute("BEGIN IMMEDIATE")
    holder = sqlite3.connect(folder / "held", isolation_level=None)
    holder.execute("BEGIN IMMEDIATE")
    second = sqlite3.connect(folder / "held", timeout=0, isolation_level=None)
    return from_sqlite(lambda: second.execute("BEGIN IMMEDIATE"))


def gone_database(folder):
    return from_sqlite(lambda: sqlite3.connect(folder / "no" / "such"))


def damaged_database(folder):
    (folder / "damaged").write_bytes(b"never a database " * 100)
    return from_sqlite(lambda: sqlite3.connect(folder / "damaged").execute("SELECT 1 FROM a"), DatabaseError)


@pytest.mark.filterwarnings("ignore:unclosed database:ResourceWarning")
@pytest.mark.parametrize(
    ("make", "expected"),
    [
        (full_database, outage.FULL),
        (readonly_database, outage.READ_ONLY),
        (busy_database, outage.BUSY),
        (gone_database, outage.GONE),
        (damaged_database, outage.DAMAGED),
        (lambda _: OSError(errno.ENOSPC, "No space left on device"), outage.FULL),
        (lambda _: OSError(errno.EROFS, "Read-only file system"), outage.READ_ONLY),
        (lambda _: OperationalError("connection refused"), outage.GONE),
    ],
)
def test_each_outage_is_told_apart(tmp_path, make, expected):
    assert outage_of(make(tmp_path)) == expected


@pytest.mark.filterwarnings("ignore:unclosed database:ResourceWarning")
@pytest.mark.parametrize(
    "make",
    [
        lambda: from_sqlite(lambda: sqlite3.connect(":memory:").execute("SELECT 1 FROM nowhere")),
        lambda: ValueError("of ours"),
        lambda: FileNotFoundError(errno.ENOENT, "gone"),
        lambda: None,
    ],
)
def test_a_fault_of_ours_is_no_outage(make):
    assert outage_of(make()) is None


# what the person sees


@pytest.fixture
def visitor(client_as, manager):
    client = client_as(manager)
    client.raise_request_exception = False
    return client


@pytest.fixture
def no_room(monkeypatch):
    """No file can be written until it is undone."""

    def refuse(_handle):
        raise OSError(errno.ENOSPC, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr(durable.os, "fsync", refuse)
        yield patch


def kept_by(page):
    """The fields that a page carries on, as it would send them."""
    found = re.findall(r'<input type="hidden" name="([^"]*)" value="([^"]*)">', page)
    return {name: value for name, value in found}  # noqa: C416 - a mapping by name


def photograph(key):
    return {"key": key, "note": TYPED, "done_at": "", "attachments": open_file()}


def open_file():
    return SimpleUploadedFile("tyre.jpg", WHOLE["a.jpg"], "image/jpeg")


def test_a_photograph_on_a_full_disk_is_refused_whole_and_what_was_typed_is_sent_again(
    visitor, car, no_room, settings
):
    address, key = reverse("log_kind", args=[car.pk, "note"]), str(uuid.uuid4())
    answer = visitor.post(address, photograph(key))
    page = answer.content.decode()
    assert answer.status_code == 507
    assert answer.headers["Retry-After"] == "30"
    assert "The disk is full" in page
    assert not Entry.objects.exists()
    assert not Attachment.objects.exists()
    assert not list(Path(settings.MEDIA_ROOT).rglob("*.part"))
    typed = kept_by(page)
    assert typed["key"] == key
    assert typed["note"] == TYPED
    assert 'type="file" name="attachments"' in page
    no_room.undo()
    assert visitor.post(address, typed | {"attachments": open_file()}).status_code == 302
    assert visitor.post(address, typed | {"attachments": open_file()}).status_code == 302
    assert Entry.objects.get().note == TYPED
    assert Attachment.objects.count() == 1


@pytest.fixture
def broken_off(monkeypatch):
    """The database answers nothing at all."""

    def refuse(*_args, **_kwargs):
        raise OperationalError("connection to server failed: Connection refused")

    with monkeypatch.context() as patch:
        patch.setattr("django.db.backends.base.base.BaseDatabaseWrapper.cursor", refuse)
        yield patch


def test_without_a_database_the_page_says_so_and_needs_none_itself(visitor, car, broken_off):
    for url in (reverse("due"), reverse("car", args=[car.pk]), reverse("sign_in")):
        answer = visitor.get(url)
        assert (answer.status_code, answer.headers["Retry-After"]) == (503, "30")
        assert b"does not answer" in answer.content
        assert b"Traceback" not in answer.content
        assert answer.headers["Content-Security-Policy"]


def test_the_phone_is_told_in_words_and_keeps_its_entries(visitor, car, manager, barn, broken_off):
    sent = {
        "sent_at": "2026-11-25T10:00:00Z",
        "person": manager.pk,
        "organisation": barn.pk,
        "entries": [sent_charge(car)],
    }
    answer = visitor.post(reverse("worksheet_entries"), json.dumps(sent), content_type="application/json")
    assert answer.status_code == 503
    assert "does not answer" in answer.json()["says"]


def test_a_password_is_not_written_into_the_page(client_as, broken_off):
    client = Client(raise_request_exception=False)
    answer = client.post(reverse("sign_in"), {"login": "a@b.example", "password": "standing-since-1904"})
    assert answer.status_code == 503
    assert b"standing-since-1904" not in answer.content


def test_a_page_is_read_with_old_dates_where_nothing_can_be_stored(visitor, car, monkeypatch):
    visitor.get(reverse("due"))
    DutyRow.objects.update(models_version=0)

    def refuse(*_args, **_kwargs):
        raise OSError(errno.EROFS, "Read-only file system")

    monkeypatch.setattr(compute, "store", refuse)
    answer = visitor.get(reverse("due"))
    assert answer.status_code == 200
    assert str(car) in answer.content.decode()


def test_a_start_without_a_database_ends_in_words(tmp_path):
    nobody = f"postgres://somebody@127.0.0.1:{unused_port()}/longstand"
    done = manage(tmp_path, "serve", LONGSTAND_DATABASE=nobody)
    assert done.returncode != 0
    assert "Longstand cannot start: the database does not answer" in done.stderr
    assert "Traceback" not in done.stderr


# the same with real disks and real servers


@contextmanager
def small_disk(folder):
    """A disk of 48 MB mounted on a folder; a test is skipped where this may not be done."""
    if os.geteuid() or subprocess.run(["mount", "-t", "tmpfs", "-o", "size=48m", "tmpfs", folder]).returncode:  # noqa: S603, S607
        pytest.skip("a disk cannot be mounted here")
    try:
        yield folder
    finally:
        subprocess.run(["umount", "-l", folder], check=True)  # noqa: S603, S607


@pytest.fixture
def on_small_disk(tmp_path):
    folder = tmp_path / "data"
    folder.mkdir()
    with small_disk(folder):
        site = Running(folder, LONGSTAND_DATABASE="")
        yield site
        site.kill()


def fill(folder):
    """Take what room there is, to the last page."""
    ballast = folder / "ballast"
    with ballast.open("wb", buffering=0) as file:
        for size in (1_000_000, 4096, 1):
            try:
                while True:
                    file.write(b"\0" * size)
            except OSError:
                continue
    return ballast


def note(site, key, text=TYPED):
    fields = [("csrfmiddlewaretoken", TOKEN), ("key", key), ("note", text), ("done_at", "")]
    address = f"/cars/{site.facts['cars'][0]}/log/note/"
    return site.request("POST", address, urlencoded(fields), "application/x-www-form-urlencoded")


def with_file(site, key):
    fields = [("csrfmiddlewaretoken", TOKEN), ("key", key), ("note", TYPED), ("done_at", "")]
    body = multipart(fields, [("attachments", ("a.jpg", "image/jpeg", WHOLE["a.jpg"]))])
    address = f"/cars/{site.facts['cars'][1]}/log/note/"
    return site.request("POST", address, body, "multipart/form-data; boundary=frontier")


def new_keys(count):
    return [str(uuid.uuid4()) for _ in range(count)]


def test_a_full_disk_refuses_in_words_loses_nothing_and_goes_on_when_there_is_room(on_small_disk):
    site = on_small_disk
    site.start()
    assert note(site, "before-it-was-full")[0] == 302
    ballast = fill(site.folder)
    keys, by_phone, (picture,) = new_keys(60), new_keys(3), new_keys(1)
    answers = {key: note(site, key, TYPED * 60) for key in keys}
    refused = [answer for answer in answers.values() if answer[0] != 302]
    assert refused, "it never noticed"
    assert {status for status, _, _ in refused} == {507}
    assert all("The disk is full" in page and TYPED in page for _, _, page in refused)
    status, _, page = with_file(site, picture)
    assert status == 507, page
    sent = [charge(key, site.facts["cars"][2]) for key in by_phone]
    status, _, said = site.send_entries(*sent)
    assert status == 507, said
    assert "no room left" in json.loads(said)["says"]
    assert {page: site.request("GET", page)[0] for page in PAGES} == dict.fromkeys(PAGES, 200)
    acknowledged = {key for key, answer in answers.items() if answer[0] == 302}
    ballast.unlink()
    assert {note(site, key, TYPED * 60)[0] for key in keys} == {302}
    assert with_file(site, picture)[0] == 302
    states = [outcome["state"] for outcome in json.loads(site.send_entries(*sent)[2])["outcomes"]]
    assert states == ["stored"] * 3
    after = site.ask(CHECK)
    assert after["faults"] == []
    assert after["kept"] == dict.fromkeys(["before-it-was-full", *keys, *by_phone, picture], 1)
    assert len(acknowledged) < len(keys)


def remounted(folder, way):
    done = subprocess.run(["mount", "-o", f"remount,{way}", folder], check=False, capture_output=True)  # noqa: S603, S607
    return done.returncode == 0


def test_a_read_only_disk_is_said_at_once_and_everything_is_there_when_it_may_be_written(on_small_disk):
    site = on_small_disk
    site.start()
    assert note(site, "while-it-could")[0] == 302
    site.kill()  # as a machine that went down and came up with its disk unwell
    wait_until(lambda: remounted(site.folder, "ro"), 30, "every file to be closed")
    site.start(worker=False)
    status, _, page = note(site, "while-it-could-not")
    assert status == 503, page
    assert "Nothing can be written now" in page
    read = {page: site.request("GET", page)[0] for page in PAGES}
    assert read == dict.fromkeys(PAGES, 200)
    site.kill()
    assert remounted(site.folder, "rw")
    with site.serve():
        assert note(site, "while-it-could-not")[0] == 302
    after = site.ask(CHECK)
    assert after["faults"] == []
    assert after["kept"] == {"while-it-could": 1, "while-it-could-not": 1}


def test_a_database_that_another_programme_holds_is_waited_for_then_said(tmp_path):
    folder = tmp_path / "data"
    folder.mkdir()
    site = Running(folder, LONGSTAND_DATABASE="")
    try:
        site.start(worker=False)
        holder = sqlite3.connect(folder / "longstand.sqlite3", isolation_level=None)
        holder.execute("BEGIN IMMEDIATE")
        assert site.request("GET", "/cars/")[0] == 200
        began = time.monotonic()
        status, headers, page = note(site, "too-busy")
        assert time.monotonic() - began > 15, "it does not wait"
        assert (status, headers["retry-after"]) == (503, "30"), page
        assert "The record is busy" in page
        holder.execute("ROLLBACK")
        holder.close()
        assert note(site, "too-busy")[0] == 302
        assert site.ask(CHECK)["kept"] == {"too-busy": 1}
    finally:
        site.kill()


class Switch:
    """Stops and starts the PostgreSQL server of an address."""

    def __init__(self, address):
        with psycopg.connect(address) as connection:
            (data,) = connection.execute("SHOW data_directory").fetchone()
            (self.port,) = connection.execute("SHOW port").fetchone()
        self.folder = Path(data).parent

    def off(self):
        stop(self.folder, "immediate")

    def on(self):
        start(self.folder, self.port, *FORGETFUL)


def test_a_database_server_that_goes_and_comes_back_is_found_again_by_pages_and_worker(server, tmp_path):  # noqa: F811
    folder = tmp_path / "data"
    folder.mkdir()
    database = migrated(server)
    site, switch = Running(folder, LONGSTAND_DATABASE=database), Switch(database)
    sent = charge("from-the-phone", site.facts["cars"][0])
    with site.serve(quiet=False):
        assert note(site, "before-it-went")[0] == 302
        switch.off()
        for page in PAGES:
            status, headers, said = site.request("GET", page)
            assert (status, headers["retry-after"]) == (503, "30")
            assert "The record is out of reach" in said
            assert "Traceback" not in said
        status, _, page = note(site, "meanwhile-it-was-gone")
        assert (status, TYPED in page) == (503, True)
        status, _, said = site.send_entries(sent)
        assert (status, "says" in json.loads(said)) == (503, True)
        switch.on()
        assert note(site, "meanwhile-it-was-gone")[0] == 302
        assert json.loads(site.send_entries(sent)[2])["outcomes"][0]["state"] == "stored"
        assert site.request("GET", "/due/")[0] == 200
        assert worker_takes_a_job(database), site.log.read_text()[-3000:]
    after = site.ask(CHECK)
    assert after["faults"] == []
    assert after["kept"] == {"before-it-went": 1, "meanwhile-it-was-gone": 1, "from-the-phone": 1}


def worker_takes_a_job(address, seconds=600):
    """Whether the heartbeat, which comes each minute, is done once more."""
    done = "SELECT count(*) FROM django_q_task WHERE func = 'collection.tasks.heartbeat' AND success"
    deadline = time.monotonic() + seconds
    with psycopg.connect(address, autocommit=True) as connection:
        (before,) = connection.execute(done).fetchone()
        while time.monotonic() < deadline:
            (now,) = connection.execute(done).fetchone()
            if now > before:
                return True
            time.sleep(0.5)
    return False
