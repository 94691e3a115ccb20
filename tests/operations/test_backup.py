"""Backups: one moment whatever is being written, whole or not at all, and back again on either database."""

import json
import os
import resource
import secrets
import shutil
import signal
import sqlite3
import subprocess
import time
import zipfile
from datetime import UTC, datetime, timedelta

import pytest
from django.apps import apps
from django.db import models

from collection.operations.backup.archive import DIGEST_BYTES, MANIFEST, BackupFault, checked, new_archive
from collection.operations.backup.keep import Keep, served
from collection.operations.backup.load import loadable
from collection.operations.backup.tables import LEFT_BEHIND_APPS
from tests.operations.installations import ROWS, Place, unpack_old
from tests.operations.test_postgresql import server  # noqa: F401 - a fixture

NOW = datetime(2026, 11, 25, 12, tzinfo=UTC)


@pytest.fixture(scope="module")
def upgraded(tmp_path_factory):
    """A small barn with entries, corrections, photographs, statements; never changed by a test."""
    place = unpack_old(tmp_path_factory.mktemp("upgraded"))
    place.must("migrate")
    return place


@pytest.fixture(scope="module")
def backup(upgraded, tmp_path_factory):
    """A backup of it."""
    file = tmp_path_factory.mktemp("backup") / "barn.zip"
    upgraded.must("backup", file)
    return file


@pytest.fixture
def place(upgraded, tmp_path):
    """The same barn, to be changed by one test."""
    shutil.copytree(upgraded.folder, tmp_path / "here")
    return Place(tmp_path / "here")


@pytest.fixture
def empty(tmp_path):
    (tmp_path / "there").mkdir()
    return Place(tmp_path / "there")


@pytest.fixture(params=["sqlite", "postgresql"])
def target(request, empty):
    """An empty place on either database."""
    if request.param == "postgresql":
        empty.database = request.getfixturevalue("server")
    return empty


# what is in it


def test_every_table_is_backed_up_or_left_behind_on_purpose(backup):
    tables = {
        model._meta.db_table
        for model in apps.get_models(include_auto_created=True)
        if model._meta.app_label not in LEFT_BEHIND_APPS
    }
    assert set(checked(backup)["tables"]) == tables


def test_no_table_names_a_file_but_the_attachments():
    """A new table with files of its own must have them backed up: teach collection/backup first."""
    files = [
        field
        for model in apps.get_models()
        for field in model._meta.fields
        if isinstance(field, models.FileField)
    ]
    assert files == []


def test_a_backup_is_for_its_owner_only_and_says_what_secrets_it_holds(upgraded, tmp_path):
    output = upgraded.must("backup", f"{tmp_path}/")
    (file,) = tmp_path.glob("longstand-*-by-hand-*.zip")
    assert file.stat().st_mode & 0o077 == 0
    assert "the key that signs statements and the secret key" in output
    assert "3 attached files" in output
    assert {"keys/signing-key.pem", "keys/secret-key"} <= set(zipfile.ZipFile(file).namelist())


def test_the_manifest_names_version_database_counts_digests_and_chain_heads(backup):
    manifest = json.loads(zipfile.ZipFile(backup).read(MANIFEST))
    assert (manifest["version"], manifest["engine"]) == ("0.2.0", "sqlite")
    assert ["collection", "0008_sharing"] in manifest["migrations"]
    assert manifest["tables"]["collection_entry"]["rows"] == 6
    heads = sorted(head[0] for head in manifest["chain_heads"].values())
    assert heads == [1, 3, 5], "what is set for the site; each car's entries and its record as chains began"
    assert all(len(member["sha256"]) == 64 for member in manifest["members"].values())


def test_a_file_of_that_name_is_not_overwritten(upgraded, tmp_path):
    (tmp_path / "mine.zip").write_text("mine")
    done = upgraded.manage("backup", tmp_path / "mine.zip")
    assert done.returncode != 0
    assert "there is a file of that name" in done.stderr
    assert (tmp_path / "mine.zip").read_text() == "mine"


def test_where_there_is_no_installation_none_is_backed_up(empty, tmp_path):
    done = empty.manage("backup", tmp_path / "b.zip")
    assert done.returncode != 0
    assert "There is no installation in this database: look at LONGSTAND_DATA" in done.stderr
    assert not (tmp_path / "b.zip").exists()


def test_a_lost_photograph_is_named_and_does_not_prevent_the_backup(place, tmp_path):
    lost = next(path for path in (place.folder / "media").rglob("*") if path.is_file())
    lost.unlink()
    assert f"The attachment {lost.name} was missing or damaged" in place.must("backup", tmp_path / "b.zip")
    there = Place(tmp_path / "there")
    there.folder.mkdir()
    done = there.manage("restore", tmp_path / "b.zip")
    assert done.returncode == 1
    assert "FAULT (attachment)" in done.stdout
    assert "NOT SOUND" in done.stdout
    assert there.file.exists(), "what there is came back all the same"


# damage


def flipped(source, target, at):
    data = bytearray(source.read_bytes())
    data[at] ^= 0x01
    target.write_bytes(data)
    return target


def test_a_whole_backup_passes_the_check_without_a_restore(upgraded, backup):
    output = upgraded.must("backup", "--check", backup)
    assert "is whole, and this version can restore it" in output


def test_a_changed_byte_anywhere_is_found(backup, tmp_path):
    size = backup.stat().st_size
    places = [*range(0, size, size // 150), *range(size - 400, size)]
    for at in places:
        with pytest.raises(BackupFault, match=r"damaged|no whole backup|this version reads"):
            checked(flipped(backup, tmp_path / "b.zip", at))


def test_the_damaged_member_is_named(backup, tmp_path):
    zipped = zipfile.ZipFile(backup)
    for info in zipped.infolist():
        if info.filename == MANIFEST or not info.compress_size:
            continue
        at = info.header_offset + 30 + len(info.filename) + 20 + info.compress_size // 2
        with pytest.raises(BackupFault, match=info.filename):
            checked(flipped(backup, tmp_path / "b.zip", at))


@pytest.mark.parametrize("share", [0, 0.01, 0.5, 0.99])
def test_a_backup_that_was_cut_off_is_refused(backup, tmp_path, share):
    size = backup.stat().st_size
    for length in {int(size * share), size - 1 if share > 0.9 else 10}:
        (tmp_path / "b.zip").write_bytes(backup.read_bytes()[:length])
        with pytest.raises(BackupFault, match="cut off"):
            checked(tmp_path / "b.zip")


def test_a_damaged_backup_is_refused_by_name_before_anything_is_touched(backup, empty, tmp_path):
    damaged = flipped(backup, tmp_path / "b.zip", backup.stat().st_size // 2)
    done = empty.manage("restore", damaged)
    assert done.returncode != 0
    assert f"{damaged} is damaged" in done.stderr
    assert not empty.file.exists()
    assert not list(empty.folder.glob(".restoring*"))


def rewritten(source, target, change):
    """A sealed backup with another manifest."""
    manifest = checked(source)
    with zipfile.ZipFile(source) as zipped:
        members = {name: zipped.read(name) for name in manifest.pop("members")}
    change(manifest, members)
    with new_archive(target, manifest) as writer:
        for name, data in members.items():
            writer.add(name, [data])
    return target


def test_a_backup_of_a_newer_version_is_refused(backup, empty, tmp_path):
    def change(manifest, _members):
        manifest["migrations"].append(["collection", "9999_later"])

    newer = rewritten(backup, tmp_path / "b.zip", change)
    done = empty.manage("restore", newer)
    assert "The backup is of a newer Longstand (collection 9999_later is not known here)" in done.stderr
    assert not empty.file.exists()


def test_a_member_that_would_lie_outside_the_data_folder_is_refused(backup, empty, tmp_path):
    def change(_manifest, members):
        members["media/../../outside"] = b"x"

    done = empty.manage("restore", rewritten(backup, tmp_path / "b.zip", change))
    assert "names a file outside its folder" in done.stderr
    assert not (tmp_path / "outside").exists()
    assert not empty.file.exists()


@pytest.mark.parametrize(
    "name",
    [
        "keys/../outside",
        "keys/longstand.sqlite3",
        "media/attachments/ab/" + "c" * 64,
        "media/before-restore-1/x",
        "tables/../x.jsonl",
        "other",
    ],
)
def test_a_member_that_is_no_file_of_ours_is_refused(backup, name):
    manifest = checked(backup)
    manifest["members"][name] = {}
    with pytest.raises(BackupFault, match="no file of ours"):
        loadable(manifest)


def test_a_full_disk_leaves_no_half_backup_and_says_so(place, tmp_path):
    (tmp_path / "out").mkdir()
    (place.folder / "secret-key").write_text(secrets.token_hex(100_000))  # more than there is room for
    small = lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (40_000, 40_000))  # noqa: E731
    done = place.manage("backup", tmp_path / "out" / "b.zip", preexec_fn=small)
    assert done.returncode != 0
    assert f"{tmp_path / 'out'}. No backup was made, and no half of one is left." in done.stderr
    assert list((tmp_path / "out").iterdir()) == []


def test_an_unfinished_backup_of_days_ago_is_swept_away_and_a_strangers_file_is_not(tmp_path):
    old = tmp_path / ".longstand-x.zip.1234.unfinished"
    for file in (old, tmp_path / "notes.unfinished"):
        file.touch()
        os.utime(file, (time.time() - 90_000,) * 2)
    with new_archive(tmp_path / "b.zip", {}):
        pass
    assert sorted(path.name for path in tmp_path.iterdir()) == ["b.zip", "notes.unfinished"]


# back again


STILL_REFUSES = """
from django.db import connection, transaction, DatabaseError
refused = []
for table in ("entry", "reading", "link", "anchor", "attachment", "evidence"):
    for words in (f"UPDATE collection_{table} SET id = id", f"DELETE FROM collection_{table}"):
        try:
            with transaction.atomic(), connection.cursor() as cursor:
                cursor.execute(words)
                refused.append([table, cursor.rowcount])
        except DatabaseError as error:
            assert "only grows" in str(error), error
print(json.dumps([row for row in refused if row[1]]))
"""
NEXT_KEYS = """
from collection.models import Owner, Organisation
barn = Organisation.objects.get()
print(json.dumps(Owner.objects.create(organisation=barn, name="New").pk))
"""
OWNER_GONE = """
from collection.models import Owner, Organisation
barn = Organisation.objects.get()
row = Owner.objects.create(organisation=barn, name="Gone")
pk = row.pk
row.delete()
print(json.dumps(pk))
"""


COLUMNS_COUNTED = """
from django.db import connection
cursor = connection.cursor()
cursor.execute("SELECT count(*) FROM pg_stats"
    " WHERE schemaname = current_schema() AND tablename = 'collection_entry'")
print(json.dumps(cursor.fetchone()[0]))
"""


def test_what_comes_back_is_what_went_in_on_either_database(upgraded, backup, target):
    output = target.must("restore", backup)
    assert "Cars checked: 2. Attachments checked: 5." in output
    assert "Sound: every chain, every statement and every attachment" in output
    assert target.ask(ROWS) == upgraded.ask(ROWS)
    assert target.ask(STILL_REFUSES) == []
    for name in ("signing-key.pem", "secret-key"):
        assert (target.folder / name).read_bytes() == (upgraded.folder / name).read_bytes()
        assert (target.folder / name).stat().st_mode & 0o077 == 0
    again = target.folder / "again.zip"
    target.must("backup", again)
    assert set(checked(again)["tables"]) == set(checked(backup)["tables"])


def test_a_number_that_was_given_once_is_not_given_again(place, target, tmp_path):
    gone = place.ask(OWNER_GONE)
    place.must("backup", tmp_path / "b.zip")
    target.must("restore", tmp_path / "b.zip")
    assert target.ask(NEXT_KEYS) == gone + 1


WRITER = """
import sys, uuid
from datetime import timedelta
from django.db import OperationalError
from django.utils import timezone
from collection.care.actions.care import log_entry
from collection.models import Person, Vehicle
from tests.care.test_attachments import photograph
from collection.care.attachments import cleaned
cars, by = list(Vehicle.objects.all()), Person.objects.get(email="keeper@hollin.example")
print("writing", flush=True)
for number in range(100000):
    now = timezone.now()
    files = [cleaned("p.jpg", photograph(size=(30 + number % 300, 20 + NUMBER)))] if number % 3 == 0 else []
    try:
        entry = log_entry(vehicle=cars[number % 2], kind="note", done_at=None, by=by, note="Seen.",
            idempotency_key=uuid.uuid4().hex, now=now, attachments=files)
    except OperationalError:
        continue  # on a busy machine the others held SQLite for too long: people are asked to send it again
    print(entry.entry.pk, flush=True)
"""
PKS = """
from collection.models import Entry
print(json.dumps(sorted(str(pk) for pk in Entry.objects.values_list("pk", flat=True))))
"""


def test_a_backup_taken_while_others_write_is_of_one_moment(upgraded, backup, target, tmp_path):
    """Two processes log entries and photographs; what they were told was stored before the backup began is in
    it, and what is in it verifies, chain by chain and photograph by photograph."""
    if target.database:
        target.must("restore", backup)
    else:
        shutil.copytree(upgraded.folder, target.folder, dirs_exist_ok=True)
    writers = [target.start(WRITER.replace("NUMBER", str(number))) for number in range(2)]
    try:
        acknowledged = []
        for writer in writers:
            assert writer.stdout.readline() == "writing\n", writer.stderr.read()
            acknowledged += [writer.stdout.readline().strip() for _ in range(3)]
        target.must("backup", tmp_path / "busy.zip")
        for writer in writers:
            assert writer.poll() is None, f"a writer was stopped by the backup: {writer.stderr.read()}"
    finally:
        for writer in writers:
            writer.terminate()
            writer.communicate()
    there = Place(tmp_path / "second")
    there.folder.mkdir()
    output = there.must("restore", tmp_path / "busy.zip")
    assert "Sound: " in output
    back, now = set(there.ask(PKS)), set(target.ask(PKS))
    assert set(acknowledged) <= back <= now
    assert len(back) < len(now), "nothing was written while the backup was taken: the test proves nothing"


def test_an_installation_is_not_overwritten_unless_that_is_said_and_then_kept(place, backup):
    place.ask(OWNER_GONE)
    before = place.file.read_bytes()
    done = place.manage("restore", backup)
    assert done.returncode != 0
    assert "There is an installation here already. --replace puts the backup in its place" in done.stderr
    assert place.file.read_bytes() == before
    output = place.must("restore", backup, "--replace")
    (kept,) = place.folder.glob("longstand.sqlite3.before-restore-*")
    assert str(kept) in output
    with sqlite3.connect(kept) as old:
        assert old.execute("SELECT count(*) FROM collection_entry").fetchone() == (6,)
    old.close()


def test_on_postgresql_too_the_old_installation_is_kept_in_a_schema_of_its_own(backup, empty, server):  # noqa: F811
    empty.database = server
    empty.must("restore", backup)
    assert "There is an installation here already" in empty.manage("restore", backup).stderr
    new = empty.ask(NEXT_KEYS)
    output = empty.must("restore", backup, "--replace")
    schema = next(
        word for word in output.replace(":", " ").split() if word.startswith("longstand_before_restore_")
    )
    count = f"""
from django.db import connection
cursor = connection.cursor()
cursor.execute("SELECT (SELECT count(*) FROM {schema}.collection_owner WHERE id = {new}),"
    " (SELECT count(*) FROM collection_owner WHERE id = {new})")
print(json.dumps(cursor.fetchone()))
"""  # noqa: S608 - names and numbers of our own
    assert empty.ask(count) == [1, 0]
    assert empty.ask(STILL_REFUSES) == []
    assert empty.ask(COLUMNS_COUNTED) > 0, "the first to ask is not made to wait"


def test_a_database_in_use_is_not_replaced(place, backup):
    with sqlite3.connect(place.file) as user:
        user.execute("PRAGMA journal_mode=WAL").fetchall()
        user.execute("SELECT count(*) FROM collection_entry").fetchall()
        done = place.manage("restore", backup, "--replace")
    user.close()
    assert done.returncode != 0
    assert "The database is in use: stop the site first" in done.stderr
    assert not list(place.folder.glob("*before-restore*"))


def test_a_damaged_database_can_be_replaced(place, backup):
    data = bytearray(place.file.read_bytes())
    data[:4096] = b"x" * 4096
    place.file.write_bytes(data)
    output = place.must("restore", backup, "--replace")
    assert "Sound: " in output
    (kept,) = place.folder.glob("longstand.sqlite3.before-restore-*")
    assert kept.read_bytes() == data


def as_it_stands(place):
    """Every file by its bytes; the database by what is in it, since its journal may have been folded in."""
    files = [path for path in place.folder.rglob("*") if path.is_file() and ".restoring-" not in str(path)]
    with sqlite3.connect(place.file) as database:
        rows = list(database.iterdump())
    database.close()
    passing = ("sqlite3", "preparing.lock")
    return rows, {path: path.read_bytes() for path in files if not any(each in path.name for each in passing)}


def test_a_restore_that_is_killed_while_it_builds_leaves_the_old_one_untouched_and_can_be_done_again(
    place, backup
):
    before = as_it_stands(place)
    process = subprocess.Popen(  # noqa: S603 - our own command line
        place.command("restore", backup, "--replace"),
        env=place.environment,
        start_new_session=True,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    deadline = time.monotonic() + 60
    while not list(place.folder.glob(".restoring-*")) and time.monotonic() < deadline:
        time.sleep(0.02)
    time.sleep(0.5)
    assert process.poll() is None, "it ended before it could be killed"
    os.killpg(process.pid, signal.SIGKILL)
    process.wait()
    assert as_it_stands(place) == before
    assert "Sound: " in place.must("restore", backup, "--replace")
    assert not list(place.folder.glob(".*restoring-*"))


# keeping


def nightly(day, whose="0123abcd"):
    return f"longstand-{whose}-nightly-{day:%Y-%m-%d}T010000Z.zip"


DAYS = [NOW - timedelta(days=back) for back in range(400)]


def test_days_weeks_and_months_keep_their_latest():
    names = [nightly(day) for day in DAYS]
    gone = served(names, "0123abcd", Keep(daily=7, weekly=5, monthly=12))
    kept = sorted(set(names) - set(gone), reverse=True)
    assert kept[:7] == [nightly(day) for day in DAYS[:7]]
    sundays = [day for day in DAYS if day.isoweekday() == 7][:4]
    assert {nightly(day) for day in sundays} <= set(kept)
    assert nightly(datetime(2026, 2, 28, tzinfo=UTC)) in kept
    assert len(kept) <= 7 + 5 + 12


@pytest.mark.parametrize("keep", [Keep(1, 0, 0), Keep(7, 5, 12), Keep(0, 0, 0)])
def test_the_newest_is_never_deleted(keep):
    for count in range(1, 60):
        names = [nightly(day) for day in DAYS[:count]]
        assert nightly(DAYS[0]) not in served(names, "0123abcd", keep)


def test_only_our_own_nightly_backups_are_ever_deleted():
    theirs = [
        *(nightly(day, "ffffffff") for day in DAYS),
        "holiday.zip",
        "longstand.zip",
        *(nightly(day).replace("nightly", "by-hand") for day in DAYS),
        *(nightly(day) + ".txt" for day in DAYS),
        *("x" + nightly(day) for day in DAYS),
        *(nightly(day).replace("nightly", "before-upgrade") for day in DAYS),
    ]
    assert served([*theirs, nightly(DAYS[0]), nightly(DAYS[399])], "0123abcd", Keep(1, 0, 0)) == [
        nightly(DAYS[399])
    ]


def test_the_last_bytes_of_a_backup_are_the_digest_of_all_others(backup):
    import hashlib

    data = backup.read_bytes()
    assert data[-DIGEST_BYTES:].decode() == hashlib.sha256(data[:-DIGEST_BYTES]).hexdigest()
