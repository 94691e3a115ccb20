"""The doctor: each check finds the one thing that was broken for it, and says how to mend it."""

import socket
import sqlite3
import sys
from collections import namedtuple
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import SimpleNamespace

import pytest
from django.conf import settings as installed
from django.core.mail import get_connection
from django.core.management import call_command
from django.db import OperationalError, connection
from django.db.migrations.recorder import MigrationRecorder
from django.utils import timezone
from django_q.models import OrmQ, Schedule, Task

from collection.care.actions.care import log_entry
from collection.care.attachments import cleaned
from collection.care.queries.attachments import path_of
from collection.models import BackupRun, Entry, ForecastRun
from collection.models.append_only import UNIQUE, unguard
from collection.operations import schedules
from collection.operations.doctor import database, files, program, rounds, surroundings, work
from collection.operations.doctor.finding import Finding, Look
from collection.operations.doctor.rounds import ALONE, WITH_DATABASE, examine, findings_of
from collection.operations.queries import operations
from collection.proof.actions import sign_statement
from tests.care.test_attachments import photograph
from tests.operations.installations import unpack_old

NOW = datetime(2026, 11, 25, 12, tzinfo=UTC)
LOOK, DEEP = Look(NOW), Look(NOW, deep=True)


@pytest.fixture(autouse=True)
def folders(settings, tmp_path):
    for name in ("DATA_DIR", "MEDIA_ROOT", "BACKUP_DIR", "STATIC_ROOT"):
        folder = tmp_path / name.lower()
        folder.mkdir()
        setattr(settings, name, folder)


def words_of(check, look=LOOK):
    """The one thing that a check finds, with its mending."""
    (finding,) = findings_of(check, look)
    return f"{finding.what} | {finding.mend}"


def nothing(check, look=LOOK):
    return findings_of(check, look) == []


# the program


def test_an_old_python_is_told(monkeypatch):
    assert nothing(program.python)
    monkeypatch.setattr(sys, "version_info", (3, 9, 2, "final", 0))
    assert "This is Python 3.9." in words_of(program.python)


def test_a_package_of_another_version_or_none_is_named(monkeypatch):
    assert nothing(program.packages)
    monkeypatch.setattr(program, "project", lambda: {"dependencies": ["django==4.1", "nosuchthing[x]==1.0"]})
    words = [finding.what for finding in findings_of(program.packages, LOOK)]
    assert "The package django is of version 5.2.19, not 4.1." in words
    assert "The package nosuchthing is not installed." in words


def test_missing_zone_data_is_told(monkeypatch):
    assert nothing(program.zones)

    def gone(_name):
        raise LookupError("no zone")

    monkeypatch.setattr(program, "ZoneInfo", gone)
    assert "Time zones are not known here" in words_of(program.zones)


def test_static_files_of_another_version_are_told(settings):
    assert "static files are missing or of another version" in words_of(program.static_files)
    for name, source in program._sources():
        target = Path(settings.STATIC_ROOT) / name
        target.parent.mkdir(parents=True, exist_ok=True)
        target.symlink_to(source)
    assert nothing(program.static_files)
    sheet = Path(settings.STATIC_ROOT) / "collection" / "longstand.css"
    sheet.unlink()
    sheet.write_text("old")
    assert "1 static files are missing or of another version, as collection/longstand.css" in words_of(
        program.static_files
    )


def test_a_typesetter_that_fails_is_told(monkeypatch):
    assert nothing(program.typesetting)

    def broken(*_args, **_options):
        raise RuntimeError("no font")

    monkeypatch.setattr(program.typst, "compile", broken)
    assert "PDFs cannot be made: no font." in words_of(program.typesetting)


# settings


def test_answering_to_others_in_local_mode_is_told(settings):
    settings.ALLOWED_HOSTS = ["localhost"]
    assert nothing(surroundings.mode)
    settings.ALLOWED_HOSTS = ["localhost", "barn.example"]
    assert "answers as barn.example in LONGSTAND_MODE local" in words_of(surroundings.mode)
    settings.PRODUCTION = True
    assert nothing(surroundings.mode)


def test_debug_is_worth_a_note(settings):
    settings.ALLOWED_HOSTS, settings.DEBUG = ["localhost"], True
    (finding,) = findings_of(surroundings.mode, LOOK)
    assert "LONGSTAND_DEBUG" in finding.what
    assert not finding.wrong


def test_any_host_is_told(settings):
    settings.ALLOWED_HOSTS = ["barn.example"]
    assert nothing(surroundings.hosts)
    settings.ALLOWED_HOSTS = ["*"]
    assert "LONGSTAND_HOSTS is *" in words_of(surroundings.hosts)


def test_plain_links_in_production_are_told(settings):
    settings.PRODUCTION, settings.ADDRESS = True, "https://barn.example"
    assert nothing(surroundings.https)
    settings.ADDRESS = "http://barn.example"
    assert "LONGSTAND_ADDRESS is http://barn.example" in words_of(surroundings.https)


def test_a_short_secret_is_told_and_not_shown(settings):
    assert nothing(surroundings.secret)
    settings.SECRET_KEY = "hunter2"
    words = words_of(surroundings.secret)
    assert "short enough to be guessed" in words
    assert "hunter2" not in words


def test_no_mail_is_a_note_and_a_mail_server_that_refuses_is_wrong(settings, monkeypatch):
    settings.SENDS_MAIL = False
    (finding,) = findings_of(surroundings.mail, DEEP)
    assert "No mail goes out" in finding.what
    assert not finding.wrong
    settings.SENDS_MAIL = True
    assert nothing(surroundings.mail, DEEP)
    with socket.create_server(("127.0.0.1", 0)) as listener:
        port = listener.getsockname()[1]
    smtp = "django.core.mail.backends.smtp.EmailBackend"
    monkeypatch.setattr(
        surroundings, "get_connection", lambda: get_connection(smtp, host="127.0.0.1", port=port, timeout=2)
    )
    assert "The mail server does not take us in" in words_of(surroundings.mail, DEEP)


def test_what_the_framework_finds_is_passed_on_with_its_hint(db, settings):
    assert nothing(surroundings.rules)
    settings.PRODUCTION = True
    settings.SESSION_COOKIE_SECURE = False
    assert any("SESSION_COOKIE_SECURE" in finding.what for finding in findings_of(surroundings.rules, LOOK))


# the database


def test_a_database_that_does_not_answer_is_told(monkeypatch, db):
    assert nothing(database.reachable)

    def refused():
        raise OperationalError("connection refused\nIs the server running?")

    monkeypatch.setattr(database, "connection", SimpleNamespace(cursor=refused))
    assert "The database does not answer: connection refused |" in words_of(database.reachable)


def test_an_upgrade_that_waits_is_told(db, monkeypatch):
    assert nothing(database.migrations)
    shipped = {("collection", "9999_later"), ("collection", "0001_first")}
    monkeypatch.setattr(operations, "_shipped", lambda: shipped)
    assert "waits for 1 steps of its upgrade, from collection.9999_later on" in words_of(database.migrations)


def test_a_database_of_a_newer_version_is_told(db):
    MigrationRecorder(connection).record_applied("collection", "9999_later")
    assert "The database is of a newer version (collection.9999_later)" in words_of(database.migrations)


def test_an_empty_database_is_told(db, monkeypatch):
    monkeypatch.setattr(database, "has_schema", lambda: False)
    assert "There is no installation in this database" in words_of(database.migrations)


def test_a_missing_guard_is_told_for_each_table(db):
    assert nothing(database.triggers)
    with connection.cursor() as cursor:
        editor = SimpleNamespace(connection=connection, execute=lambda sql, _: cursor.execute(sql))
        unguard(editor, ["collection_reading"])
    words = words_of(database.triggers)
    assert "The table collection_reading is not guarded against changes" in words
    assert "collection_reading_no_delete" in words
    assert "collection_reading" in UNIQUE


@pytest.mark.skipif(connection.vendor != "sqlite", reason="a setting of SQLite")
def test_a_journal_that_makes_readers_wait_is_told(db, monkeypatch):
    monkeypatch.setattr(database, "_one", lambda _query: "wal")
    assert nothing(database.write_ahead)
    monkeypatch.setattr(database, "_one", lambda _query: "delete")
    assert "keeps its journal as 'delete'" in words_of(database.write_ahead)


def test_a_damaged_database_file_is_told_and_the_command_ends_with_one(tmp_path):
    place = unpack_old(tmp_path / "old")
    place.must("migrate")
    assert "  ok     Database file" in place.manage("doctor").stdout
    with sqlite3.connect(place.file) as file:
        query = "SELECT rootpage FROM sqlite_master WHERE name = 'collection_reading'"
        (page,) = file.execute(query).fetchone()
        (size,) = file.execute("PRAGMA page_size").fetchone()
    file.close()
    data = bytearray(place.file.read_bytes())
    data[(page - 1) * size : (page - 1) * size + 200] = b"\xff" * 200
    place.file.write_bytes(data)
    done = place.manage("doctor")
    assert done.returncode == 1
    assert "WRONG  Database file. The database file is damaged" in done.stdout
    assert "manage.py restore" in done.stdout


@pytest.mark.skipif(connection.vendor != "sqlite", reason="looked at so on SQLite alone")
def test_rows_that_point_nowhere_are_told(transactional_db, barn, car):
    assert nothing(database.whole)
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA foreign_keys=OFF")
        cursor.execute("UPDATE collection_vehicle SET bay_id = 987654")
        words = words_of(database.whole)
        cursor.execute("UPDATE collection_vehicle SET bay_id = NULL")
        cursor.execute("PRAGMA foreign_keys=ON")
    assert "1 rows of the database point at rows that are gone" in words


# files


@pytest.mark.parametrize("name", ["DATA_DIR", "MEDIA_ROOT", "BACKUP_DIR"])
def test_a_folder_that_cannot_be_written_is_named(settings, tmp_path, name):
    assert nothing(files.folders)
    (tmp_path / "file").write_text("in the way")
    setattr(settings, name, tmp_path / "file")
    assert f"{tmp_path / 'file'} (" in words_of(files.folders)
    assert "cannot be written" in words_of(files.folders)


def test_a_key_that_others_can_read_is_told(settings, barn):
    sign_statement(organisation=barn, now=NOW)
    assert nothing(files.keys)
    path = Path(settings.DATA_DIR) / "signing-key.pem"
    path.chmod(0o644)
    assert f"Run: chmod 600 {path}" in words_of(files.keys)


def test_a_record_that_others_can_read_is_told_with_its_mending(settings):
    folder, file = Path(settings.DATA_DIR), Path(settings.DATA_DIR) / "longstand.sqlite3"
    file.touch()
    file.chmod(0o644)
    folder.chmod(0o755)
    assert f"Run: chmod -R go= {folder}" in words_of(files.private)
    folder.chmod(0o700)
    assert nothing(files.private), "nobody else gets that far"
    file.chmod(0o600)
    folder.chmod(0o755)
    assert nothing(files.private)


def test_a_signing_key_that_is_gone_or_broken_or_another_is_told(settings, barn):
    assert nothing(files.signing)
    sign_statement(organisation=barn, now=NOW)
    assert nothing(files.signing)
    path = Path(settings.DATA_DIR) / "signing-key.pem"
    path.write_text("broken")
    assert "The signing key cannot be read" in words_of(files.signing)
    path.unlink()
    assert "new statements would be signed by another key" in words_of(files.signing)
    files.installation_key()
    assert "was signed by another key" in words_of(files.signing)


@pytest.fixture
def with_photograph(car, keeper):
    picture = cleaned("tyre.jpg", photograph())
    log_entry(
        vehicle=car,
        kind="note",
        done_at=NOW,
        by=keeper,
        idempotency_key="p",
        now=NOW,
        note="Seen.",
        attachments=[picture],
    )
    return Path(installed.MEDIA_ROOT) / path_of(picture.digest)


def test_a_lost_photograph_is_told_at_once_and_a_changed_one_when_looking_deep(with_photograph):
    assert nothing(files.attachments)
    assert nothing(files.attachments, DEEP)
    data = bytearray(with_photograph.read_bytes())
    data[100] ^= 1
    with_photograph.write_bytes(data)
    assert nothing(files.attachments)
    assert f"1 attachments are missing or damaged: {with_photograph.name}" in words_of(
        files.attachments, DEEP
    )
    with_photograph.unlink()
    assert f"1 attachments are missing or damaged: {with_photograph.name}" in words_of(files.attachments)


def test_a_full_disk_is_told(monkeypatch, settings):
    settings.BACKUP_DIR = settings.DATA_DIR
    usage = namedtuple("usage", "total used free")
    monkeypatch.setattr("shutil.disk_usage", lambda _folder: usage(10**12, 5 * 10**11, 5 * 10**11))
    assert nothing(files.room)
    monkeypatch.setattr("shutil.disk_usage", lambda _folder: usage(10**12, 10**12 - 10**9, 10**9))
    assert "is nearly full: 1.0 GB are free" in words_of(files.room)


# what goes on by itself


def job(func, success=True, ago=timedelta(minutes=1), key="job"):
    return Task.objects.create(
        id=key, name=key, func=func, success=success, started=NOW - ago, stopped=NOW - ago
    )


def test_a_silent_worker_is_told(db):
    assert "The background worker does not answer, and never has." in words_of(work.worker)
    job("collection.tasks.heartbeat", ago=timedelta(hours=5))
    assert "does not answer, since 2026-11-25 07:00 UTC" in words_of(work.worker)
    job("collection.tasks.heartbeat", key="second")
    assert nothing(work.worker)


def test_schedules_that_are_missing_are_named(db):
    schedules.sync_schedules(NOW)
    assert nothing(work.schedules)
    Schedule.objects.filter(name="nightly").delete()
    assert "Not set to come round by themselves: nightly." in words_of(work.schedules)


def test_a_queue_that_stands_is_told(db):
    assert nothing(work.queue)
    waiting = OrmQ.objects.create(key="longstand", payload="", lock=NOW - timedelta(minutes=5))
    assert nothing(work.queue)
    OrmQ.objects.filter(pk=waiting.pk).update(lock=NOW - timedelta(hours=2))
    assert "1 jobs wait, the first since 2026-11-25 10:00 UTC" in words_of(work.queue)


def test_jobs_that_failed_are_counted(db):
    job("collection.tasks.nightly")
    assert nothing(work.failures)
    for key in "ab":
        job("collection.tasks.nightly", success=False, key=key)
    assert "The job collection.tasks.nightly failed 2 times within a week" in words_of(work.failures)


def test_forecasts_that_are_old_are_told(barn):
    assert nothing(work.forecasts)
    run = ForecastRun.objects.create(organisation=barn, started_at=NOW, trigger="nightly")
    assert nothing(work.forecasts)
    ForecastRun.objects.filter(pk=run.pk).update(started_at=NOW - timedelta(days=5))
    assert "The cars of Hollin Barn were last computed on 2026-11-20" in words_of(work.forecasts)


def backed_up(ago=timedelta(hours=10), **values):
    facts = {"kind": "nightly", "seconds": 1, "host": socket.gethostname()} | values
    return BackupRun.objects.create(started_at=NOW - ago, **facts)


def test_no_backup_an_old_one_a_lost_one_a_failed_one_are_told(db, tmp_path):
    assert "There is no backup. | Run manage.py backup" in words_of(work.backups)
    file = tmp_path / "b.zip"
    file.write_bytes(b"x")
    run = backed_up(file=str(file))
    assert nothing(work.backups)
    assert "is no whole backup" in words_of(work.backups, DEEP)
    file.unlink()
    assert f"The last backup, {file}, is no longer there" in words_of(work.backups)
    file.touch()
    BackupRun.objects.filter(pk=run.pk).update(started_at=NOW - timedelta(days=4))
    assert "The last backup is of 2026-11-21 12:00 UTC" in words_of(work.backups)
    BackupRun.objects.filter(pk=run.pk).update(started_at=NOW - timedelta(hours=30), host="elsewhere")
    assert "The last backup lies on elsewhere" in words_of(work.backups)
    BackupRun.objects.filter(pk=run.pk).update(host=socket.gethostname())
    backed_up(ago=timedelta(hours=3), error="No space left on device: /mnt. No backup was made.")
    assert "The backup of 2026-11-25 09:00 UTC failed: No space left on device" in words_of(work.backups)


def test_a_clock_that_is_behind_is_told(car, keeper):
    Entry.objects.create(
        vehicle=car, by=keeper, kind="note", note="Seen.", done_at=NOW, recorded_at=NOW, idempotency_key="n"
    )
    assert nothing(work.clock)
    assert nothing(work.clock, Look(NOW - timedelta(minutes=4)))
    assert "is 2 h 5 min behind the newest thing written down" in words_of(
        work.clock, Look(NOW - timedelta(minutes=125))
    )


@pytest.mark.skipif(connection.vendor != "sqlite", reason="the guards are taken away as on SQLite")
def test_a_chain_that_does_not_hold_is_told_when_looking_deep(car, keeper):
    log_entry(
        vehicle=car, kind="note", done_at=NOW, by=keeper, idempotency_key="p", now=NOW, note="Left door."
    )
    assert nothing(rounds.chains, DEEP)
    with connection.cursor() as cursor:
        editor = SimpleNamespace(connection=connection, execute=lambda sql, _: cursor.execute(sql))
        unguard(editor, ["collection_entry"])
        cursor.execute("UPDATE collection_entry SET note = 'Right door.'")
    assert nothing(rounds.chains)
    assert "FAULT (" in words_of(rounds.chains, DEEP)


# all of it


def test_every_check_has_a_name_of_its_own_and_one_that_fails_itself_stops_no_other(db, monkeypatch):
    named = [*ALONE, *WITH_DATABASE]
    assert len({each.title for each in named}) == len({each.check for each in named}) == len(named)

    def stumbles(_look):
        raise RuntimeError("oh")
        yield

    monkeypatch.setattr(rounds, "ALONE", (rounds.Named("First", stumbles), *ALONE))
    results = dict(examine(Look(timezone.now())))
    assert "This could not be looked at: RuntimeError: oh" in results["First"][0].what
    assert set(results) >= {each.title for each in named}


def test_every_check_of_these_files_is_made():
    made = {each.check for each in (*ALONE, rounds.REACHABLE, rounds.FORM, *WITH_DATABASE)}
    written = {
        thing
        for module in (database, files, program, rounds, surroundings, work)
        for name, thing in vars(module).items()
        if getattr(thing, "__module__", "") == module.__name__
        and not name.startswith("_")
        and getattr(thing, "__annotations__", {}).get("return") == Iterator[Finding]
    }
    assert written == made


def test_with_the_database_gone_the_rest_is_still_said_and_it_ends_with_one(tmp_path):
    place = unpack_old(tmp_path / "old")
    place.database = "postgres://nobody@127.0.0.1:1/none"
    done = place.manage("doctor")
    assert done.returncode == 1
    assert "ok     Python" in done.stdout
    assert "WRONG  Database. The database does not answer" in done.stdout
    assert "Chains" not in done.stdout
    assert "Traceback" not in done.stderr


def test_nothing_wrong_ends_with_zero(monkeypatch, capsys):
    monkeypatch.setattr(rounds, "ALONE", ALONE[:1])
    monkeypatch.setattr(rounds, "WITH_DATABASE", ())
    monkeypatch.setattr(rounds, "REACHABLE", rounds.Named("Database", lambda _look: iter(())))
    monkeypatch.setattr(rounds, "FORM", rounds.Named("Form", lambda _look: iter(())))
    call_command("doctor")
    assert capsys.readouterr().out.endswith("Nothing is wrong.\n")
