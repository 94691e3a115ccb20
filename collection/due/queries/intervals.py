"""Which duty an entry answers."""

from collection.models import Entry
from scheduler.vocabulary.duties import duty_answered


def answered(entry: Entry) -> str:
    """The duty that the entry answers, empty for none; a short or idling run answers no run-up."""
    return duty_answered(entry.kind, entry.details)
