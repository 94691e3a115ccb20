"""A restore that fails or is killed leaves the old installation whole, or the new one; never some of each.

LONGSTAND_RESTORE_KILLS sets at how many places it is killed, beside the named steps.
"""

import hashlib
import json
import os
import secrets
import zipfile
from collections import Counter
from datetime import UTC, datetime
from pathlib import Path

import psycopg
import pytest
from django.core.management import CommandError, call_command

from collection.host.locks import PREPARING, holding
from collection.operations.backup import journal as journals
from collection.operations.backup import sealed
from collection.operations.backup.engine import engine
from collection.operations.backup.journal import Journal, this_database
from collection.operations.backup.stage import Stage
from collection.operations.doctor import files
from collection.operations.doctor.finding import Look
from tests.databases import put_migrated_file
from tests.operations.installations import Place, unpack_old
from tests.operations.test_backup import rewritten
from tests.operations.test_postgresql import server  # noqa: F401 - a fixture
from tests.postgresql import MIGRATED, postgresql, unused_port

ROUNDS = int(os.environ.get("LONGSTAND_RESTORE_KILLS", "4"))
NOW = datetime(2026, 11, 29, 10, tzinfo=UTC)
OLD_NAME = "Barn of before"


@pytest.fixture(scope="module")
def backup(tmp_path_factory):
    """A backup that version 0.2.0 left: three attachments, both keys."""
    folder = unpack_old(tmp_path_factory.mktemp("kept"), "v0.2.0").folder
    return folder / "kept" / "backup.zip"


NAMED = f"""
from collection.models import Organisation
Organisation.objects.create(name={OLD_NAME!r})
print(json.dumps(1))
"""


def attached(place, data, name=""):
    """Put bytes into the media folder as an attachment of that name, by default of its own."""
    name = name or hashlib.sha256(data).hexdigest()
    file = place.folder / "media" / "attachments" / name[:2] / name
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_bytes(data)
    return file


def digests_in(backup):
    return sorted(Path(name).name for name in zipfile.ZipFile(backup).namelist() if name.startswith("media/"))


def installation(folder, backup, database=""):
    """Another barn than that of the backup: of its attachments one is not here, one is here and damaged."""
    place = Place(folder, database)
    folder.mkdir(parents=True)
    if not database:
        put_migrated_file(folder)
    (folder / "secret-key").write_text(secrets.token_hex(40))
    (folder / "signing-key.pem").write_text("the key of before")
    attached(place, b"only here")
    attached(place, b"damaged", digests_in(backup)[1])
    place.ask(NAMED)
    return place


def as_it_is(place, but=("preparing.lock", "rehearsing.lock")):
    """Every file, by its bytes; of a database what is in it, since looking at it may fold its log in."""
    folders = {place.folder, Path(place.more.get("LONGSTAND_MEDIA", place.folder))}
    files = [
        path for folder in folders for path in folder.rglob("*") if path.is_file() and path.name not in but
    ]
    rows = place.ask(
        "from collection.models import Organisation\n"
        "print(json.dumps(list(Organisation.objects.values_list('name', flat=True))))"
    )
    return (
        rows,
        {path: path.read_bytes() for path in files if "sqlite3" not in path.name},
        {path.name for path in files if "sqlite3" in path.name and not path.name.endswith(("-wal", "-shm"))},
    )


@pytest.fixture
def place(backup, tmp_path):
    """An installation whose media folder is shared, to be changed by one test."""
    here = installation(tmp_path / "here", backup)
    (here.folder / "media").rename(tmp_path / "media")
    here.more["LONGSTAND_MEDIA"] = str(tmp_path / "media")
    return here


def test_a_restore_that_cannot_be_loaded_touches_nothing(place, backup, tmp_path):
    def spoil(manifest, members):
        manifest["tables"]["collection_entry"]["rows"] += 1
        for name in members:
            if name.startswith("media/"):
                members[name] = b"x"

    before = as_it_is(place)
    done = place.manage("restore", rewritten(backup, tmp_path / "b.zip", spoil), "--replace")
    assert done.returncode != 0
    assert "rows came back, not" in done.stderr
    assert "Nothing was changed." in done.stderr
    assert as_it_is(place) == before


def test_a_rehearsal_of_an_encrypted_backup_touches_nothing(place, backup, tmp_path, settings):
    settings.BACKUP_RECIPIENTS = [sealed.new_identity(tmp_path / "key.txt")]
    sealed.seal(backup, tmp_path / "b.zip.age")
    before = as_it_is(place)
    output = place.must("restore", tmp_path / "b.zip.age", "--rehearse", "--identity", tmp_path / "key.txt")
    assert "Attachments checked: 5." in output
    assert "it can be restored, and all of it is sound. It was taken away again." in output
    assert as_it_is(place) == before


# broken off


@pytest.fixture
def broken_off(settings, tmp_path):
    """A data folder whose keys a restore had changed when it was killed; its database it had not."""
    settings.DATA_DIR, settings.MEDIA_ROOT = tmp_path / "data", tmp_path / "media"
    for folder in (tmp_path / "data", tmp_path / "media"):
        folder.mkdir()
    stage = Stage("restoring-0123abcd")
    stage.make()
    journal = Journal(
        stage.name, "20261129", this_database(), False, ["signing-key.pem"], ["signing-key.pem"]
    )
    key = tmp_path / "data" / "signing-key.pem"
    key.write_text("the new key")
    journal.kept(key).write_text("the old key")
    journals.write(journal)
    return key


@pytest.fixture
def not_swapped(broken_off, monkeypatch):
    """The tests' own database lies in memory: it is told of, and not looked at."""
    monkeypatch.setattr(engine(), "is_swapped", lambda _journal: False)
    monkeypatch.setattr(engine(), "undo", lambda _journal: None)
    return broken_off


def test_the_doctor_ends_a_restore_that_was_broken_off_and_tells(not_swapped, db):
    (finding,) = files.restore(Look(NOW))
    assert "A restore was broken off before. The restore was undone" in finding.what
    assert not finding.wrong
    assert not_swapped.read_text() == "the old key"
    assert sorted(path.name for path in not_swapped.parent.iterdir()) == ["preparing.lock", not_swapped.name]
    assert list(files.restore(Look(NOW))) == []


def test_the_doctor_leaves_a_restore_alone_that_is_going_on(not_swapped, db):
    with holding(PREPARING):
        (finding,) = files.restore(Look(NOW))
    assert "a restore is going on" in finding.what
    assert not_swapped.read_text() == "the new key"


def test_a_start_ends_it_first_and_begins_again_with_the_right_keys(not_swapped, db, monkeypatch):
    class Begun(Exception):
        pass

    def execv(*_command):
        assert not_swapped.read_text() == "the old key"
        raise Begun

    monkeypatch.setattr(os, "execv", execv)
    with pytest.raises(Begun):
        call_command("serve", port=unused_port())


def test_a_restore_of_another_database_is_left_to_that_one(broken_off, db, settings, monkeypatch):
    monkeypatch.setitem(settings.DATABASES["default"], "PORT", "another")
    with pytest.raises(CommandError, match="let LONGSTAND_DATABASE name that one"):
        call_command("serve", port=unused_port())
    assert broken_off.read_text() == "the new key"


# killed


STAGED = """
import os
from pathlib import Path
from collection.operations.backup.build import build
from collection.operations.backup.stage import new_stage
with new_stage("restoring") as stage:
    build(stage, Path({backup!r}), purpose="restoring", say=lambda _: None)
    print(json.dumps(stage.name), flush=True)
    os._exit(0)
"""


@pytest.fixture(scope="module", params=["SQLite", "PostgreSQL"])
def model(request, backup, tmp_path_factory):
    """An installation with a stage that is ready to take its place; on PostgreSQL a database to copy."""
    folder = tmp_path_factory.mktemp("model") / "data"
    if request.param == "SQLite":
        place = installation(folder, backup)
        yield folder.parent, place.ask(STAGED.format(backup=str(backup))), {}
        return
    with postgresql() as address:
        there = address.rpartition("/")[0]
        with psycopg.connect(address, autocommit=True) as admin:
            admin.execute(f"CREATE DATABASE model TEMPLATE {MIGRATED}")
        place = installation(folder, backup, f"{there}/model")
        stage = place.ask(STAGED.format(backup=str(backup)))
        yield folder.parent, stage, {"LONGSTAND_DATABASE": f"{there}/work", "MODEL_DATABASE": "model"}


@pytest.mark.parametrize("shared", [False, True], ids=["media in the data folder", "media shared"])
def test_a_restore_killed_anywhere_leaves_the_old_one_whole_or_the_new_one(model, backup, tmp_path, shared):
    folder, stage, more = model
    work = Place(tmp_path / "work", "", more)
    if shared:
        work.more = more | {"LONGSTAND_MEDIA": str(tmp_path / "media")}
    process = work.start(
        "from tests.attacks.restore_lab import main\n"
        f"print(json.dumps(main({str(folder)!r}, {str(backup)!r}, {stage!r}, {ROUNDS}, 7)))"
    )
    out, err = process.communicate()
    assert process.returncode == 0, err[-3000:]
    result = json.loads(out.splitlines()[-1])
    rounds = result["rounds"]
    assert [each for each in rounds if each["faults"]] == []
    assert all(each["done"] is None for each in rounds), "a round was not killed"
    for each in rounds:
        assert each["ends"][-1]["finished"] in ({"old": (False, None), "new": (True, None)}[each["which"]])
    by_step = {each["step"]: each["which"] for each in rounds if each["step"]}
    assert by_step == dict.fromkeys(by_step, "old") | {"finish": "new"}
    assert len(by_step) > 5
    print(result["touches"], Counter(each["which"] for each in rounds))  # noqa: T201
