"""Readers of environment variables that fail loudly, naming the variable and the fix."""

import os
from pathlib import Path

from django.core.exceptions import ImproperlyConfigured

TRUE, FALSE = {"1", "true", "yes", "on"}, {"0", "false", "no", "off", ""}


def text(name: str, default: str = "") -> str:
    """The variable's text without surrounding blanks."""
    return os.environ.get(name, default).strip()


def flag(name: str, *, default: bool = False) -> bool:
    """A yes/no variable."""
    value = text(name, str(default)).lower()
    if value in TRUE | FALSE:
        return value in TRUE
    raise ImproperlyConfigured(f"{name} is {value!r}: write 1 or 0")


def number(name: str, default: int, low: int, high: int) -> int:
    """A whole number within limits."""
    value = text(name, str(default))
    if value.isdecimal() and low <= int(value) <= high:
        return int(value)
    raise ImproperlyConfigured(f"{name} is {value!r}: write a whole number from {low} to {high}")


def choice(name: str, default: str, allowed: tuple[str, ...]) -> str:
    """One of a few words."""
    value = text(name, default)
    if value in allowed:
        return value
    raise ImproperlyConfigured(f"{name} is {value!r}: write one of {', '.join(allowed)}")


def words(name: str, default: str = "") -> list[str]:
    """A list separated by commas."""
    return [word.strip() for word in text(name, default).split(",") if word.strip()]


def folder(name: str, default: Path) -> Path:
    """A folder, made if it is not there yet."""
    path = Path(text(name) or default).expanduser().resolve()
    try:
        path.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise ImproperlyConfigured(f"{name}: the folder {path} cannot be made: {error.strerror}") from error
    return path
