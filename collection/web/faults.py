"""What every write has in common: all faults told at once, each at its field, and nothing saved."""

from collections.abc import Iterable, Mapping
from datetime import date

from django.core.exceptions import ValidationError
from django.db import models

Faults = dict[str, str]


def check(record: models.Model, faults: Mapping[str, str]) -> None:
    """Refuse a record for the faults given and for those of its fields; the database's rules come last.

    Raises ValidationError with a message for each field at fault.
    """
    messages = {name: [text] for name, text in faults.items()}
    try:
        record.full_clean(validate_constraints=False)
    except ValidationError as fault:
        for name, texts in fault.message_dict.items():
            messages.setdefault(name, texts)
    if messages:
        raise ValidationError(messages)
    record.validate_constraints()


def in_future(record: models.Model, names: Iterable[str], today: date) -> Faults:
    """A fault for each named date that lies after today."""
    return {
        name: f"{label(record, name)} is in the future: give today or an earlier day."
        for name in names
        if (day := getattr(record, name)) is not None and day > today
    }


def before(record: models.Model, later: str, earlier: str) -> Faults:
    """A fault at ``later`` when it lies before ``earlier``."""
    first, second = getattr(record, earlier), getattr(record, later)
    if first is None or second is None or second >= first:
        return {}
    words = f"{label(record, later)} is before {label(record, earlier).lower()}"
    return {later: f"{words} ({first:%-d %b %Y}): check both dates."}


def unknown(name: str, value: str, choices: Iterable[tuple[str, str]], what: str) -> Faults:
    """A fault when a key is neither empty nor one of the choices."""
    if not value or value in {key for key, _ in choices}:
        return {}
    return {name: f"“{value}” is not a known {what}: choose one from the list or leave it unknown."}


def label(record: models.Model, name: str) -> str:
    """The field's name as people read it."""
    words = str(record._meta.get_field(name).verbose_name)  # type: ignore[union-attr]  # never a reverse relation here
    return words[:1].upper() + words[1:]


def at(prefix: str, fault: ValidationError) -> dict[str, list[str]]:
    """The faults of one row among several, its fields named ``prefix-field``."""
    return {f"{prefix}-{name}": texts for name, texts in fault.message_dict.items()}


def check_rows(rows: Iterable[tuple[str, models.Model, Mapping[str, str]]]) -> None:
    """Check several rows (prefix, record, faults) and tell the faults of all of them together."""
    messages: dict[str, list[str]] = {}
    for prefix, record, faults in rows:
        try:
            check(record, faults)
        except ValidationError as fault:
            messages |= at(prefix, fault)
    if messages:
        raise ValidationError(messages)
