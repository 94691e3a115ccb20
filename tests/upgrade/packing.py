"""Has an old version write a data folder, and packs it."""

import os
import subprocess
import sys
import tarfile
import tempfile
from collections.abc import Sequence
from pathlib import Path

PACKED = ("longstand.sqlite3", "media", "signing-key.pem", "secret-key", "kept")
# the write-ahead log goes into the file; where the maker's folder lay is nobody's business
FOLD = """
import os, sqlite3
folder = os.environ["LONGSTAND_DATA"]
database = sqlite3.connect(folder + "/longstand.sqlite3", isolation_level=None)
database.execute("PRAGMA journal_mode=DELETE").fetchall()
if database.execute("SELECT 1 FROM sqlite_master WHERE name = 'collection_backuprun'").fetchone():
    database.execute("UPDATE collection_backuprun SET file = replace(file, ?, ''), host = ''", [folder + "/"])
database.execute("VACUUM")
"""


def write_and_pack(checkout: Path, scripts: Sequence[str], archive: Path, **settings: str) -> None:
    """Run scripts with the code of the old checkout on an empty data folder, then pack what they left."""
    clean = {key: value for key, value in os.environ.items() if not key.startswith("LONGSTAND_")}
    with tempfile.TemporaryDirectory() as folder:
        ours = {
            "DJANGO_SETTINGS_MODULE": "collection.settings",
            "LONGSTAND_DATA": folder,
            "PYTHONPATH": str(checkout),
        }
        for script in (*scripts, FOLD):
            subprocess.run(
                [sys.executable, "-"],
                input=script,
                text=True,
                cwd=checkout,
                check=True,
                env=clean | ours | settings,
            )
        with tarfile.open(archive, "w:xz", preset=9) as packed:
            for name in PACKED:
                if (Path(folder) / name).exists():
                    packed.add(Path(folder) / name, name)
