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

from tests.databases import put_migrated_file
from tests.operations.installations import Place, unpack_old
from tests.operations.test_backup import rewritten
from tests.operations.test_postgresql import server  # noqa: F401 - a fixture
from tests.postgresql import MIGRATED, postgresql

ROUNDS = int(os.environ.get("LONGSTAND_RESTORE_KILLS", "10"))
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


@pytest.fixture(params=["media in the data folder", "media shared"])
def place(request, backup, tmp_path):
    """An installation, to be changed by one test."""
    here = installation(tmp_path / "here", backup)
    if request.param == "media shared":
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
    said = json.loads(out.splitlines()[-1])
    rounds = said["rounds"]
    assert [each for each in rounds if each["faults"]] == []
    assert all(each["done"] is None for each in rounds), "a round was not killed"
    for each in rounds:
        assert each["ends"][-1]["finished"] in ({"old": (False, None), "new": (True, None)}[each["which"]])
    by_step = {each["step"]: each["which"] for each in rounds if each["step"]}
    assert by_step == dict.fromkeys(by_step, "old") | {"finish": "new"}
    assert len(by_step) > 5
    print(said["touches"], Counter(each["which"] for each in rounds))  # noqa: T201
