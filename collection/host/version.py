"""The version of this program; it stands in pyproject.toml and nowhere else."""

import tomllib
from typing import Any

from django.conf import settings


def project() -> dict[str, Any]:
    """What pyproject.toml says of the program."""
    table: dict[str, Any] = tomllib.loads((settings.BASE_DIR / "pyproject.toml").read_text())["project"]
    return table


VERSION: str = project()["version"]
