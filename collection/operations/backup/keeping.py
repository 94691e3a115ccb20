"""Keep a file under a second name while the first is about to change hands."""

import os
import shutil
from contextlib import suppress
from pathlib import Path


def keep_beside(file: Path, second: Path) -> None:
    """Give the file a second name, or copy it where the disk knows no second names; once is enough."""
    if second.exists():
        return
    with suppress(OSError):
        os.link(file, second)
        return
    aside = second.with_name(f"{second.name}.part")
    shutil.copy2(file, aside)
    with aside.open("rb") as written:
        os.fsync(written.fileno())
    aside.rename(second)
