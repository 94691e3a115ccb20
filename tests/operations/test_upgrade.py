"""From the versions before: their database is brought forward on either engine, and everything goes on."""

import hashlib
import hmac
import json
import shutil
import sqlite3
import subprocess
from base64 import b64decode, b64encode
from contextlib import closing
from pathlib import Path

import pytest
from django.conf import settings
from django.core.files.uploadedfile import SimpleUploadedFile

from collection.models import Owner, Vehicle
from tests.operations.installations import Place, unpack_old
from tests.operations.test_postgresql import server  # noqa: F401 - a fixture

BEFORE = ("v0.1.0", "v0.2.0")

GO_ON = """
from django.test import Client
from django.test.utils import setup_test_environment
from django.urls import reverse
from django.conf import settings
settings.STORAGES["staticfiles"] = {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}
setup_test_environment()
from collection.care.actions.care import log_entry
from collection.models import Attachment, Entry, Person, Vehicle
from collection.care.queries.attachments import bytes_of
client = Client()
client.force_login(Person.objects.get(email="manager@hollin.example"))
car = Vehicle.objects.get(chassis_number="W12-0417")
names = ["due", "week", "calendar", "floor_plan", "cars", "places", "people", "trust"]
names += ["system", "installation"]
of_car = ["car", "log", "history", "proof", "shares", "recommissioning"]
urls = [*(reverse(name) for name in names), *(reverse(name, args=[car.pk]) for name in of_car)]
pages = {url: client.get(url).status_code for url in urls}
photographs = [bytes_of(row) is not None for row in Attachment.objects.all()]
notes = list(car.entries.order_by("recorded_at").values_list("note", flat=True))
form = client.get(reverse("log_kind", args=[car.pk, "note"])).context["form"]
logged = client.post(reverse("log_kind", args=[car.pk, "note"]), {
    **{name: form.initial.get(name, field.initial) or "" for name, field in form.fields.items()
       if name != "attachments"}, "note": "Written by the new version."})
print(json.dumps({
    "pages": pages, "photographs": photographs, "notes": notes, "logged": logged.status_code,
    "entries": Entry.objects.count(), "newest": car.entries.order_by("recorded_at").last().note,
    "said": "" if logged.status_code == 302 else str(logged.context["form"].errors),
    "people": sorted(Person.objects.values_list("name", flat=True)),
}))
"""


@pytest.fixture
def old(tmp_path):
    return unpack_old(tmp_path / "old")


@pytest.fixture(params=["sqlite", "postgresql"])
def upgraded(request, old, tmp_path):
    """The old barn brought forward: in its place on SQLite, by a backup of the old form on PostgreSQL."""
    if request.param == "sqlite":
        old.must("migrate")
        return old
    old.must("backup", tmp_path / "old.zip")
    (tmp_path / "new").mkdir()
    place = Place(tmp_path / "new", request.getfixturevalue("server"))
    output = place.must("restore", tmp_path / "old.zip")
    assert "Sound: " in output
    return place


def test_a_barn_of_the_version_before_goes_on(upgraded, tmp_path):
    assert "Cars checked: 2, with faults: 0." in upgraded.must("verify_history", "--database")
    after = upgraded.ask(GO_ON)
    assert set(after["pages"].values()) == {200}, after["pages"]
    assert after["photographs"] == [True] * 5
    assert "Key on hook 4; été – 漢." in after["notes"]
    assert (after["logged"], after["said"]) == (302, "")
    assert (after["entries"], after["newest"]) == (7, "Written by the new version.")
    assert "Gone" not in after["people"], "whoever was forgotten stays so"
    assert "Cars checked: 2, with faults: 0." in upgraded.must("verify_history", "--database")
    assert "3 attached files" in upgraded.must("backup", tmp_path / "after.zip")


def git(*arguments):
    return subprocess.run(  # noqa: S603 - our own command line
        [shutil.which("git") or "git", *arguments],
        cwd=settings.BASE_DIR,
        capture_output=True,
        text=True,
        check=False,
    )


def has(tag):
    return bool(shutil.which("git")) and git("rev-parse", "-q", "--verify", tag).returncode == 0


@pytest.mark.parametrize("version", BEFORE)
def test_the_old_barn_is_really_of_that_version(version, tmp_path):
    if not has(version):
        pytest.skip(f"no git, or a clone without the tag {version}")
    listed = git("ls-tree", "--name-only", version, "collection/migrations/").stdout.split()
    theirs = {Path(name).stem for name in listed} - {"__init__"}
    with closing(sqlite3.connect(unpack_old(tmp_path, version).file)) as database:
        applied = database.execute("SELECT name FROM django_migrations WHERE app = 'collection'")
        assert {name for (name,) in applied} == theirs


@pytest.mark.parametrize("version", BEFORE)
def test_no_packed_row_names_the_folder_of_its_maker(version, tmp_path):
    data = unpack_old(tmp_path, version).file.read_bytes()
    assert b"/tmp/" not in data
    assert b"/home/" not in data


# version 0.2.0, and all that it left with people

COMPUTED = {
    "dutyrow",
    "pressing",
    "carsummary",
    "forecastrun",
    "runpart",
    "siteplan",
    "assignment",
    "unplaced",
}
# tables that have another name since
RENAMED = {
    "collection_wakingcase": "collection_recommissioncase",
}
# what stands elsewhere since: superusers as operators, ticked sites as grants, private notes sealed
MOVED = {
    "collection_person": {"is_staff", "is_superuser"},
    "collection_apitoken": {"scopes"},
    "collection_organisation": {"money"},
    "collection_carnotes": {"keys_at", "alarm"},
    "collection_sitenotes": {"address", "way_in", "alarm"},
}
GONE = {
    "collection_membership_sites",
    "collection_person_groups",
    "collection_person_user_permissions",
    "collection_wakingrates",
}


def recorded(file):
    """Every row that somebody recorded, by table and primary key, each a value by column."""
    with closing(sqlite3.connect(file)) as database:
        database.row_factory = sqlite3.Row
        keys = database.execute(
            "SELECT t.name AS name, c.name AS key FROM sqlite_master t, pragma_table_info(t.name) c"
            " WHERE t.type = 'table' AND t.name LIKE 'collection_%' AND c.pk = 1"
        ).fetchall()
        return {
            table: {row[key]: dict(row) for row in database.execute(f"SELECT * FROM {table}")}  # noqa: S608
            for table, key in keys
            if table.removeprefix("collection_") not in COMPUTED
        }


def changes(old, new):
    """What of the old rows does not stand in the new ones; columns that were added are no change."""
    for before, rows in old.items():
        table = RENAMED.get(before, before)
        if table in GONE:
            continue
        if table not in new:
            yield f"{table} is gone: say here where its rows are now"
            continue
        for key, row in rows.items():
            there = new[table].get(key, {})
            kept = row.keys() - MOVED.get(table, set())
            yield from (f"{table}.{column} of {key}" for column in kept if there.get(column) != row[column])


@pytest.fixture(scope="module")
def kept(tmp_path_factory):
    """The folder of version 0.2.0 as that version left it."""
    return unpack_old(tmp_path_factory.mktemp("kept"), "v0.2.0").folder


@pytest.fixture(scope="module")
def answers_before(kept):
    """What people and programmes were told by version 0.2.0."""
    return json.loads((kept / "kept" / "said.json").read_text())


@pytest.fixture(scope="module")
def both(kept, tmp_path_factory):
    """The barn brought forward and used, and meanwhile its backup restored: two processes side by side."""
    place = unpack_old(tmp_path_factory.mktemp("forward"), "v0.2.0")
    place.more = {"LONGSTAND_WEBHOOKS_INSIDE": "1"}  # the test is the receiver
    with (
        closing(sqlite3.connect(place.file)) as database,
        database,
    ):  # as the first start made its first person
        database.execute("UPDATE collection_person SET is_superuser = 1 WHERE email LIKE 'keeper@hollin%'")
    process = place.start("from tests.upgrade.go_on import main; main()")
    restored = Place(tmp_path_factory.mktemp("restored"))
    try:
        output = restored.must("restore", kept / "kept" / "backup.zip")
    finally:
        answer = place.answer(process)
    return answer, restored, output


@pytest.fixture(scope="module")
def forward(both):
    """What became of the barn and of all that was left with people."""
    return both[0]


def test_every_row_of_the_barn_is_whole(kept, forward):
    before = recorded(kept / "longstand.sqlite3")
    assert len(before["collection_entry"]) > 35
    assert list(changes(before, recorded(forward["file"]))) == []


def test_prices_of_recommissioning_stand_among_the_others_in_one_money(kept, forward):
    [typed] = recorded(kept / "longstand.sqlite3")["collection_wakingrates"].values()
    after = recorded(forward["file"])
    assert after["collection_organisation"][typed["organisation_id"]]["money"] == typed["currency"] == "EUR"
    own = {row["name"]: row["value"] for row in after["collection_rate"].values()}
    assert own["workshop_hour"] == typed["hour_likely"]


PLAIN = (b"Board, hook 4", b"Ring Bram.", b"Bell only.")


@pytest.mark.parametrize("how", ["migrated", "restored"])
def test_keys_and_alarms_are_sealed_and_open_and_lie_open_nowhere(kept, both, forward, how):
    file = Path(forward["file"]) if how == "migrated" else both[1].file
    assert any(text in (kept / "longstand.sqlite3").read_bytes() for text in PLAIN)
    assert [text for text in PLAIN if text in file.read_bytes()] == []
    assert forward["keys"] == {
        "keys_at": "Board, hook 4",
        "site": "Hollin Lane",
        "granted": 1,
        "operators": 1,
    }
    if how == "restored":
        opened = both[1].ask(OPEN_KEYS)
        assert opened == {"keys_at": "Board, hook 4", "alarm": "None."}


OPEN_KEYS = """
from collection.host.sealing import unseal
from collection.models import CarNotes
notes = CarNotes.objects.get()
print(json.dumps(unseal(f"car {notes.vehicle_id}", notes.sealed)))
"""


def test_old_addresses_lead_on(forward):
    assert forward["addresses"] == []


def test_share_links_calendar_feeds_and_printed_labels_still_open(forward):
    assert forward["left"]["shared"]
    assert forward["left"]["feed"] > 0
    assert len(forward["left"]["labels"]) == 3
    assert all(forward["left"]["labels"].values()), forward["left"]["labels"]


def test_what_waits_on_a_phone_is_stored_once(forward, answers_before):
    count = len(answers_before["phone"]["body"]["entries"])
    assert count == 12
    assert forward["phone"] == [["stored"] * count, ["before"] * count]


def test_the_jobs_that_waited_are_done(forward, answers_before):
    jobs = forward["jobs"]
    assert jobs["failed"] == []
    assert set(answers_before["jobs"]) <= set(jobs["done"])
    assert (jobs["table"], jobs["logger_file"], set(jobs["runs"])) == ("checked", "read", {"done"})
    assert jobs["mails"] == [["manager@hollin.example"]]
    assert jobs["backups"] == 1


def test_a_receiver_of_messages_keeps_its_secret(forward, answers_before):
    assert forward["jobs"]["heard"]
    for message in forward["jobs"]["heard"]:
        headers = message["headers"]
        signed = f"{headers['webhook-id']}.{headers['webhook-timestamp']}.{message['body']}".encode()
        secret = b64decode(answers_before["webhook_secret"].removeprefix("whsec_"))
        expected = "v1," + b64encode(hmac.digest(secret, signed, hashlib.sha256)).decode()
        assert headers["webhook-signature"] == expected


def test_chains_statements_and_exported_files_verify(forward):
    assert "Cars checked: 3, with faults: 0." in forward["before"]["said"]
    proofs = forward["proofs"]
    for which in ("database", "old", "today"):
        assert proofs[which]["sound"], proofs[which]["said"]
    assert not proofs["changed"]["sound"], "a file that was changed is still found out"


def test_a_backup_of_that_version_is_restored(kept, both):
    _, restored, output = both
    assert "Sound: " in output
    before = recorded(kept / "longstand.sqlite3")
    del before["collection_backuprun"]  # its own run was written down after it
    for person in before["collection_person"].values():
        del person["last_login"]  # the maker signed in after it
    assert list(changes(before, recorded(restored.file))) == []
    attached = {file.name for file in (kept / "media" / "attachments").rglob("*") if file.is_file()}
    assert len(attached) == 3
    assert attached <= {file.name for file in (restored.folder / "media").rglob("*")}


def test_a_car_handed_over_by_that_version_is_received(kept, barn, manager, client_as):
    owner = Owner.objects.create(organisation=barn, name="Dora Finch")
    file = SimpleUploadedFile("handover.zip", (kept / "kept" / "handover.zip").read_bytes())
    answer = client_as(manager).post("/cars/arrive/", {"file": file, "owner": owner.pk})
    assert answer.status_code == 302, answer.content.decode()
    car = Vehicle.objects.get(chassis_number="W9-0009")
    notes = set(car.entries.values_list("note", flat=True))
    assert "Of petrol – 漢." in notes
    assert "Handed over to Tarn Sheds with its whole history." in notes


def test_the_record_of_every_car_is_one_opening_entry_that_says_when_it_was_written(forward):
    """But of cars that were handed over: their chain goes on with whoever has them now.

    What was in no chain before it, handbook values among it, came into one later.
    """
    with closing(sqlite3.connect(forward["file"])) as database:
        cars = dict(
            database.execute(
                "SELECT id, regime FROM collection_vehicle v WHERE left_on IS NULL OR NOT EXISTS (SELECT 1"
                " FROM collection_handover h WHERE h.vehicle_id = v.id"
                " AND h.organisation_id = v.organisation_id)"
            )
        )
        found = database.execute(
            "SELECT vehicle_id, opening, by_id, recorded_at, facts FROM collection_recordentry"
        ).fetchall()
        handbook = database.execute("SELECT vehicle_id FROM collection_handbookvalue").fetchall()
        written = database.execute("SELECT max(recorded_at) FROM collection_entry").fetchone()[0]
    entries, later = ([row for row in found if row[1] == opening] for opening in (1, 0))
    assert {car: json.loads(facts)["regime"]["now"] for car, _, _, _, facts in entries} == cars
    assert len(entries) == len(cars) > 1
    assert {(opening, by) for _, opening, by, _, _ in entries} == {(1, None)}
    assert all(recorded >= written for _, _, _, recorded, _ in entries)
    assert set(handbook) <= {row[:1] for row in later}
    assert {name.split(".")[0] for row in later for name in json.loads(row[4])} <= {"handbook", "put_away"}
    told = [fact for *_, facts in found for fact in json.loads(facts).values()]
    assert {fact["since"] for fact in told} == {None}
