"""Whole installations in folders of their own, run by manage.py in processes of their own."""

import json
import os
import subprocess
import sys
import tarfile
from dataclasses import dataclass, field
from pathlib import Path

from django.conf import settings

OLD = settings.BASE_DIR / "tests" / "upgrade"
START = "import django, json; django.setup()\n"


@dataclass
class Place:
    """An installation: its data folder and, where that is not SQLite, its database."""

    folder: Path
    database: str = ""
    more: dict[str, str] = field(default_factory=dict)

    @property
    def environment(self):
        clean = {
            key: value for key, value in os.environ.items() if not key.startswith(("LONGSTAND_", "DJANGO_"))
        }
        ours = {
            "LONGSTAND_DATA": str(self.folder),
            "LONGSTAND_DATABASE": self.database,
            "DJANGO_SETTINGS_MODULE": "collection.settings",
            "PYTHONPATH": str(settings.BASE_DIR),
        }
        return clean | ours | self.more

    @property
    def file(self):
        return self.folder / "longstand.sqlite3"

    def command(self, *arguments):
        return [sys.executable, str(settings.BASE_DIR / "manage.py"), *map(str, arguments)]

    def manage(self, *arguments, **options):
        """Run a command to its end; whatever it answers."""
        return subprocess.run(  # noqa: S603 - our own command line
            self.command(*arguments),
            env=self.environment,
            capture_output=True,
            text=True,
            timeout=300,
            check=False,
            stdin=subprocess.DEVNULL,
            **options,
        )

    def must(self, *arguments):
        """Run a command that must go well; what it said."""
        done = self.manage(*arguments)
        assert done.returncode == 0, done.stdout + done.stderr
        return done.stdout

    def start(self, script):
        """Run Python with this installation's settings, and go on."""
        return subprocess.Popen(  # noqa: S603 - our own command line
            [sys.executable, "-c", START + script],
            env=self.environment,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )

    def ask(self, script):
        """Run Python with this installation's settings; what it prints, as JSON."""
        return self.answer(self.start(script))

    def answer(self, process):
        """What a started process prints in the end, as JSON."""
        out, err = process.communicate(timeout=300)
        assert process.returncode == 0, err
        return json.loads(out.splitlines()[-1])


def unpack_old(folder, version="v0.1.0"):
    """The barn that an earlier version wrote."""
    with tarfile.open(OLD / f"{version}.tar.xz") as packed:
        packed.extractall(folder, filter="data")
    return Place(folder)


ROWS = """
from django.apps import apps

from collection.operations.backup.tables import LEFT_BEHIND_APPS
def said(value):
    return json.dumps(value, sort_keys=True, default=str)
def rows(model):
    return [[said(value) for value in row] for row in model._base_manager.order_by("pk").values_list()]
print(json.dumps({
    model._meta.db_table: rows(model) for model in apps.get_models(include_auto_created=True)
    if model._meta.app_label not in LEFT_BEHIND_APPS and model._meta.model_name != "backuprun"
}))
"""
