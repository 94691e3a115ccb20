"""Which duty an entry answers."""

from collections.abc import Mapping
from typing import Any

from collection.models import Entry
from scheduler.vocabulary.duties import DUTIES


def answered(entry: Entry) -> str:
    """The duty that the entry answers, empty for none; a short or idling run answers no run-up."""
    for duty in DUTIES:
        for answer in duty.answered_by:
            if answer.care == entry.kind and _holds(entry.details, {**answer.about, **answer.counts_if}):
                return duty.code
    return ""


def _holds(details: Mapping[str, Any], wanted: Mapping[str, object]) -> bool:
    return all(details.get(key) == value for key, value in wanted.items())
