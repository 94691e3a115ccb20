"""Serves the chart script that ships inside the plotly package as one of our own static files."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import plotly
from django.contrib.staticfiles.finders import BaseFinder
from django.core.files.storage import FileSystemStorage, Storage

SCRIPT = "plotly.min.js"


class ChartScriptFinder(BaseFinder):
    """Finds that one file and nothing else of the package's data."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.storage = FileSystemStorage(Path(plotly.__file__).parent / "package_data")

    def find(self, path: str, find_all: bool = False) -> Any:
        """The script's place on disk, or nothing for any other path."""
        if path != SCRIPT:
            return []
        script = self.storage.path(SCRIPT)
        return [script] if find_all else script

    def list(self, _ignore_patterns: Any) -> Iterator[tuple[str, Storage]]:
        """The one file, with the storage that holds it."""
        yield SCRIPT, self.storage
