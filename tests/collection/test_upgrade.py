"""From the version before: its database is brought forward on either engine, and everything goes on."""

import shutil
import subprocess
from pathlib import Path

import pytest
from django.conf import settings

from tests.collection.installations import Place, unpack_old
from tests.collection.test_postgresql import server  # noqa: F401 - a fixture

BEFORE = "v0.1.0"

GO_ON = """
from django.test import Client
from django.test.utils import setup_test_environment
from django.urls import reverse
from django.conf import settings
settings.STORAGES["staticfiles"] = {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}
setup_test_environment()
from collection.actions.care import log_entry
from collection.models import Attachment, Entry, Person, Vehicle
from collection.queries.attachments import bytes_of
client = Client()
client.force_login(Person.objects.get(email="manager@hollin.example"))
car = Vehicle.objects.get(chassis_number="W12-0417")
names = ["due", "week", "calendar", "yard", "cars", "places", "people", "trust", "runs", "installation"]
of_car = ["car", "log", "history", "proof", "shares", "waking"]
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
    said = place.must("restore", tmp_path / "old.zip")
    assert "Sound: " in said
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


@pytest.mark.skipif(
    not shutil.which("git") or git("rev-parse", "-q", "--verify", BEFORE).returncode != 0,
    reason=f"no git, or a clone without the tag {BEFORE}",
)
def test_the_old_barn_is_really_of_that_version(old):
    listed = git("ls-tree", "--name-only", BEFORE, "collection/migrations/").stdout.split()
    theirs = {Path(name).stem for name in listed} - {"__init__"}
    query = """
from django.db.migrations.recorder import MigrationRecorder
from django.db import connection
applied = MigrationRecorder(connection).applied_migrations()
print(json.dumps([name for app, name in applied if app == "collection"]))
"""
    assert set(old.ask(query)) == theirs
