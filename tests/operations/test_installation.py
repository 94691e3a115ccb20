"""The health address, the installation's page, its version, and the backups that are taken by themselves."""

import tomllib
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
import time_machine
from django.conf import settings as installed
from django.core.management import CommandError, call_command
from django.db import OperationalError, connection
from django.test import Client
from django_q.models import OrmQ

from collection import migrations, tasks
from collection.host.version import VERSION
from collection.models import BackupRun
from collection.operations import installing
from collection.operations.actions import backups
from collection.operations.backup import sealed
from collection.operations.backup.archive import BackupFault
from collection.operations.backup.build import Built
from collection.operations.backup.rehearse import NoRehearsal
from collection.operations.doctor import work
from collection.operations.doctor.finding import Look
from collection.operations.queries import operations
from tests.operations.installations import unpack_old
from tests.operations.test_doctor import backed_up

NOW = datetime(2026, 11, 25, 12, tzinfo=UTC)


def text(answer):
    return " ".join(answer.content.decode().split())


# health


def test_health_is_ok_for_anybody_and_says_no_more(db):
    answer = Client().get("/health/")
    assert (answer.status_code, answer.content) == (200, b"ok\n")
    assert answer["Cache-Control"] == "no-store"
    assert "Set-Cookie" not in answer


def test_health_asks_the_database_once(db, django_assert_max_num_queries):
    Client().get("/health/")
    with django_assert_max_num_queries(2):
        Client().get("/health/")


def test_health_is_asked_in_plain_http_behind_the_proxy(db, settings):
    settings.SECURE_SSL_REDIRECT = True
    assert Client().get("/health/").status_code == 200
    assert Client().get("/due/").status_code == 301


def test_a_database_that_waits_for_its_upgrade_is_not_healthy(db, monkeypatch):
    monkeypatch.setattr(operations, "_shipped", lambda: frozenset({("collection", "9999_later")}))
    answer = Client().get("/health/")
    assert (answer.status_code, answer.content) == (503, b"the database waits for its upgrade\n")


def test_a_database_that_does_not_answer_is_not_healthy(db, monkeypatch):
    def gone():
        raise OperationalError("connection to 10.0.0.7 refused for longstand:secret")

    monkeypatch.setattr(operations, "pending_migrations", gone)
    answer = Client().get("/health/")
    assert (answer.status_code, answer.content) == (503, b"the database does not answer\n")


# version


def test_the_version_stands_in_one_place_and_is_shown_to_whoever_is_signed_in(client_as, manager, keeper):
    declared = tomllib.loads((installed.BASE_DIR / "pyproject.toml").read_text())["project"]["version"]
    assert declared == VERSION
    assert f'<a href="/installation/">Longstand {VERSION}</a>' in text(client_as(manager).get("/due/"))
    page = text(client_as(keeper).get("/due/"))
    assert f"Longstand {VERSION}" in page
    assert "/installation/" not in page
    assert VERSION not in text(Client().get("/sign-in/"))


# the page


@pytest.fixture
def page(manager, client_as):
    def look():
        with time_machine.travel(NOW, tick=False):
            client = client_as(manager)
            return text(client.get("/installation/"))

    return look


def test_the_page_shows_version_database_worker_backup_and_disk(page):
    backed_up(size=693667)
    text = page()
    newest = max(path.stem for path in Path(migrations.__file__).parent.glob("0*.py"))
    engine = {"sqlite": "SQLite 3.", "postgresql": "PostgreSQL "}[connection.vendor]
    for words in (
        VERSION,
        engine,
        f"{newest}, up to date",
        "677",
        "By itself, at night",
        "Agrees with the record",
    ):
        assert words in text, words
    assert "There is no backup" not in text


def test_the_page_names_no_path_no_host_and_no_error(page, settings):
    backed_up(file="/mnt/backups/b.zip", host="barn-server")
    backed_up(ago=timedelta(hours=1), error="Permission denied: /mnt/backups")
    text = page()
    assert "The backup of" in text
    for words in ("/mnt/backups", "barn-server", str(settings.DATA_DIR)):
        assert words not in text


def test_the_page_tells_what_is_wrong(page, monkeypatch):
    text = page()
    assert "The background worker does not answer" in text
    assert "There is no backup yet" in text
    assert "The disk is nearly full" not in text or "free" in text
    backed_up(ago=timedelta(days=4))
    assert "The last good backup is of" in page()
    job = OrmQ.objects.create(key="longstand", payload="", lock=NOW)
    OrmQ.objects.filter(pk=job.pk).update(lock=NOW - timedelta(hours=2))
    assert "Jobs have been waiting since" in page()
    monkeypatch.setattr(operations, "newest_moment", lambda: NOW + timedelta(days=1))
    assert "The clock of this machine is behind" in page()
    monkeypatch.setattr(operations, "_shipped", lambda: frozenset({("collection", "9999_later")}))
    assert "The database waits for its upgrade" in page()


# backups by themselves


@pytest.fixture
def folder(settings, tmp_path):
    settings.BACKUP_DIR = tmp_path / "backups"
    settings.DATA_DIR = tmp_path
    return settings.BACKUP_DIR


@pytest.fixture
def quick(monkeypatch):
    """A backup without the database: these tests are about when, where and what is written down."""

    def take(path, *, now):
        path.write_bytes(b"a backup")
        return {}

    monkeypatch.setattr(backups, "take", take)
    monkeypatch.setattr(backups, "checked", lambda _path: {})
    monkeypatch.setattr(backups, "rehearse", lambda _path, _say: Built(True, []))


def at(moment):
    return time_machine.travel(moment, tick=False)


def test_one_is_queued_a_night_once_its_hour_has_come_and_made_up_for_when_missed(db, folder, quick):
    with at(NOW.replace(hour=0)):
        tasks.take_nightly_backup()
    assert BackupRun.objects.count() == 1, "there was none at all"
    for hour, due in ((0, False), (1, True), (9, True)):
        OrmQ.objects.all().delete()
        with at(NOW.replace(hour=hour, minute=30)):
            tasks.back_up()
        assert OrmQ.objects.exists() == due, hour
    with at(NOW.replace(hour=9)):
        tasks.take_nightly_backup()
        tasks.take_nightly_backup()
    assert BackupRun.objects.count() == 2
    assert len(list(folder.glob("*.zip"))) == 1, "of one day the latest stays"


def test_a_night_deletes_what_has_served_and_nothing_else(db, folder, quick, settings):
    settings.BACKUP_DAILY, settings.BACKUP_WEEKLY, settings.BACKUP_MONTHLY = 2, 0, 0
    folder.mkdir()
    (folder / "photographs.zip").touch()
    for day in range(1, 6):
        with at(datetime(2026, 11, day, 2, tzinfo=UTC)):
            tasks.take_nightly_backup()
    assert sorted(path.name[-22:] for path in folder.glob("longstand-*")) == [
        "2026-11-04T020000Z.zip",
        "2026-11-05T020000Z.zip",
    ]
    assert (folder / "photographs.zip").exists()


def test_when_the_new_one_is_not_good_no_old_one_is_deleted(db, folder, quick, settings, monkeypatch):
    settings.BACKUP_DAILY, settings.BACKUP_WEEKLY, settings.BACKUP_MONTHLY = 1, 0, 0
    with at(datetime(2026, 11, 1, 2, tzinfo=UTC)):
        tasks.take_nightly_backup()

    def damaged(path):
        raise BackupFault(f"{path} is damaged")

    monkeypatch.setattr(backups, "checked", damaged)
    with at(datetime(2026, 11, 2, 2, tzinfo=UTC)), pytest.raises(BackupFault):
        tasks.take_nightly_backup()
    assert list(folder.glob("*2026-11-01*"))
    assert "is damaged" in BackupRun.objects.first().error


def test_a_folder_that_cannot_be_written_is_told_on_the_page_and_written_down(db, folder, page):
    folder.write_text("in the way")
    with at(NOW), pytest.raises(OSError, match="exists"):
        backups.back_up("by-hand", now=NOW)
    assert "File exists" in BackupRun.objects.get().error
    assert "There is no backup yet" in page()


def test_two_processes_do_not_back_up_at_once(db, folder, quick):
    folder.mkdir()
    with backups.alone(folder) as first:
        assert first
        assert not backups.nightly_backup(clock=lambda: NOW)
    assert not BackupRun.objects.exists()
    assert backups.nightly_backup(clock=lambda: NOW)


# rehearsed


def came_to(monkeypatch, outcome):
    """What the next rehearsals find."""

    def rehearse(path, _say):
        assert path.read_bytes() == b"a backup", "it was rehearsed as it can be read"
        if isinstance(outcome, Exception):
            raise outcome
        return outcome

    monkeypatch.setattr(backups, "rehearse", rehearse)


def test_the_nights_backup_is_rehearsed_and_what_came_of_it_is_kept_and_shown(db, folder, quick, page):
    assert "Last rehearsed</dt><dd>none yet" in page()
    with at(NOW.replace(hour=2)):
        tasks.take_nightly_backup()
    run = BackupRun.objects.get()
    assert (run.rehearsed_at, run.rehearsal) == (NOW.replace(hour=2), "")
    assert ", sound" in page()
    assert list(work.rehearsals(Look(NOW))) == []
    (late,) = work.rehearsals(Look(NOW + timedelta(days=4)))
    assert "The rehearsal of the backup of 2026-11-25 02:00 UTC was the last." in late.what


NOT_LOADED = BackupFault("The backup could not be loaded: no.")
FAULT = "FAULT (missing). Twelve 0, Hollin Barn: entry 3 is gone."


@pytest.mark.parametrize(
    ("outcome", "held", "shown", "reported"),
    [
        (Built(False, [FAULT]), True, "did not come back sound when it was rehearsed", f"found: {FAULT}"),
        (NOT_LOADED, True, "did not come back sound", "not be loaded"),
        (NoRehearsal("9 GB are wanted."), False, "could not be rehearsed", "not be held: 9 GB are wanted."),
    ],
)
def test_a_rehearsal_that_went_wrong_is_told(
    db, folder, quick, page, monkeypatch, outcome, held, shown, reported
):
    came_to(monkeypatch, outcome)
    with at(NOW.replace(hour=2)):
        tasks.take_nightly_backup()
    assert bool(BackupRun.objects.get().rehearsed_at) == held
    text = page()
    assert shown in text
    assert "Hollin Barn: entry 3" not in text
    (finding,) = work.rehearsals(Look(NOW))
    assert reported in finding.what


def test_on_the_night_of_a_backup_that_cannot_be_restored_no_old_one_is_deleted(
    db, folder, quick, settings, monkeypatch
):
    settings.BACKUP_DAILY, settings.BACKUP_WEEKLY, settings.BACKUP_MONTHLY = 1, 0, 0
    outcomes = (Built(True, []), BackupFault("cut off"), Built(False, [FAULT]))
    for day, (outcome, left) in enumerate(zip(outcomes, (1, 2, 1), strict=True), 1):
        came_to(monkeypatch, outcome)
        with at(datetime(2026, 11, day, 2, tzinfo=UTC)):
            tasks.take_nightly_backup()
        assert len(list(folder.glob("*.zip"))) == left


# encrypted


@pytest.fixture
def pair(settings, tmp_path):
    """The private key in a file; backups are encrypted to its public key."""
    settings.BACKUP_RECIPIENTS = [sealed.new_identity(tmp_path / "key.txt")]
    return tmp_path / "key.txt"


def test_an_encrypted_backup_is_rehearsed_before_and_only_the_encrypted_one_stays(
    db, folder, quick, pair, monkeypatch, tmp_path
):
    came_to(monkeypatch, Built(True, []))
    with at(NOW.replace(hour=2)):
        tasks.take_nightly_backup()
    (file,) = folder.glob("*.zip.age")
    assert file.read_bytes().startswith(b"age-encryption.org/v1\n")
    assert b"a backup" not in file.read_bytes()
    with sealed.opened(file, pair) as plain:
        assert plain.read_bytes() == b"a backup"
    assert list(tmp_path.glob(".longstand-*")) == []
    run = BackupRun.objects.get()
    assert (run.file, bool(run.rehearsed_at)) == (str(file), True)
    assert list(work.backups(Look(NOW, deep=True))) == []
    file.write_bytes(file.read_bytes()[:-1] + b"?")
    (finding,) = work.backups(Look(NOW, deep=True))
    assert "is damaged: it is not what was backed up" in finding.what


def test_of_encrypted_backups_too_those_that_have_served_go(db, folder, quick, pair, settings):
    settings.BACKUP_DAILY, settings.BACKUP_WEEKLY, settings.BACKUP_MONTHLY = 2, 0, 0
    for day in range(1, 6):
        with at(datetime(2026, 11, day, 2, tzinfo=UTC)):
            tasks.take_nightly_backup()
    assert len(list(folder.glob("*.zip.age"))) == 2


# before an upgrade


def test_an_upgrade_takes_a_backup_first_and_none_is_taken_without_one(tmp_path):
    place = unpack_old(tmp_path / "old")
    prepare = "from collection.operations.installing import prepare; prepare(); print(json.dumps(1))"
    place.ask(prepare)
    (file,) = (place.folder / "backups").iterdir()
    assert "-before-upgrade-" in file.name
    assert "by version 0.2.0" in place.must("backup", "--check", file)
    place.ask(prepare)
    assert list((place.folder / "backups").iterdir()) == [file]


def test_without_room_for_the_backup_there_is_no_upgrade(db, monkeypatch, folder):
    folder.write_text("in the way")
    monkeypatch.setattr(installing, "pending_migrations", lambda: [("collection", "9999_later")])
    with pytest.raises(CommandError, match="no backup could be taken first"):
        installing.prepare()


def test_the_backup_command_says_what_went_wrong(db, folder):
    folder.write_text("in the way")
    with pytest.raises(CommandError, match="No backup was made"):
        call_command("backup")
    assert Path(folder).read_text() == "in the way"
