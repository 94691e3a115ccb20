"""The program and what it stands on: Python, packages, zones, static files, typesetting."""

import re
import sys
from collections.abc import Iterator
from importlib.metadata import PackageNotFoundError
from importlib.metadata import version as version_of
from pathlib import Path
from zoneinfo import ZoneInfo

import typst
from django.conf import settings
from django.contrib.staticfiles.finders import get_finders

from collection.host.version import project
from collection.operations.doctor.finding import Finding, Look

OLDEST_PYTHON = (3, 11)
PINNED = re.compile(r"([\w.-]+)(?:\[[^]]*\])?==(\S+)")
INSTALL = "Start with “uv run --no-dev manage.py …”, which installs what pyproject.toml names."


def python(_look: Look) -> Iterator[Finding]:
    """Python is new enough."""
    if sys.version_info[:2] < OLDEST_PYTHON:
        version = ".".join(map(str, sys.version_info[:2]))
        yield Finding(f"This is Python {version}.", "Install Python 3.11 or newer.")


def packages(_look: Look) -> Iterator[Finding]:
    """The packages are those that this version was tested with."""
    for requirement in project()["dependencies"]:
        pinned = PINNED.fullmatch(requirement)
        if pinned is None:
            continue
        name, wanted = pinned.groups()
        try:
            version = version_of(name)
        except PackageNotFoundError:
            yield Finding(f"The package {name} is not installed.", INSTALL)
            continue
        if version != wanted:
            yield Finding(f"The package {name} is of version {version}, not {wanted}.", INSTALL)


def zones(_look: Look) -> Iterator[Finding]:
    """Time zones are known."""
    try:
        ZoneInfo("Europe/London")
    except Exception as error:  # whatever is wrong with the data, there is no zone
        yield Finding(f"Time zones are not known here: {error}.", "Install the package tzdata.")


def static_files(_look: Look) -> Iterator[Finding]:
    """Styles and scripts are collected, and are those of this version."""
    root = Path(settings.STATIC_ROOT)
    old = [name for name, source in _sources() if not _same(root / name, source)]
    if old:
        yield Finding(
            f"{len(old)} static files are missing or of another version, as {min(old)}.",
            "Start the site with manage.py serve, or run manage.py collectstatic --no-input.",
        )


def _sources() -> Iterator[tuple[str, Path]]:
    for finder in get_finders():
        for name, storage in finder.list([]):
            yield name, Path(storage.path(name))


def _same(collected: Path, source: Path) -> bool:
    try:
        return collected.read_bytes() == source.read_bytes()
    except OSError:
        return False


def typesetting(_look: Look) -> Iterator[Finding]:
    """PDFs can be set, with the fonts that the typesetter brings."""
    try:
        typst.compile(b"= Longstand", format="pdf", ignore_system_fonts=True)
    except Exception as error:  # whatever the typesetter meets, there will be no paper
        yield Finding(f"PDFs cannot be made: {error}.", INSTALL)
