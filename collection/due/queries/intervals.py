"""How long the car waited between the cares that one duty asks for."""

from collections.abc import Iterator, Sequence
from datetime import date, timedelta

from collection.care.queries.care import day_of
from collection.models import Entry
from scheduler.vocabulary.duties import DUTY, duty_answered

# Shorter waits are never late, but for a duty that may come round sooner.
SHORTEST_WAIT = timedelta(days=28)


def answered(entry: Entry) -> str:
    """The duty that the entry answers, empty for none; a short or idling run answers no run-up."""
    return duty_answered(entry.kind, entry.details)


def waits(entries: Sequence[Entry], since: date | None) -> Iterator[tuple[str, date]]:
    """Each duty and the day on which it was done after a long wait; entries oldest first.

    The wait before the first care runs from ``since``; without that day it is not known.
    """
    last: dict[str, date] = {}
    for entry in entries:
        duty, day = answered(entry), day_of(entry)
        if not duty or DUTY[duty].short_waits:
            continue
        before = last.get(duty, since)
        if before and day - before > SHORTEST_WAIT:
            yield duty, day
        last[duty] = day
