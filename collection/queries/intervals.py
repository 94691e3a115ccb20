"""How long the car waited between the cares that one duty asks for."""

from collections.abc import Iterator, Sequence
from datetime import date, timedelta

from collection.models import CareKind, Entry
from collection.queries.care import day_of
from collection.queries.duties import CARE_FOR_DUTY

# Only the walk-round comes round sooner than this; shorter waits are never late for another duty.
SHORTEST_WAIT = timedelta(days=28)
ANSWERED_BY: dict[str, str] = {
    kind.value: duty for duty, kind in CARE_FOR_DUTY.items() if kind != CareKind.FLUID_CHANGED
}


def answered(entry: Entry) -> str:
    """The duty that the entry answers, empty for none; a short or idling run answers no run-up."""
    if entry.kind == CareKind.FLUID_CHANGED:
        return str(entry.details.get("fluid", ""))
    if entry.kind == CareKind.CHARGE and not entry.details.get("completed"):
        return ""
    if entry.kind == CareKind.RUN_UP and not (
        entry.details.get("driven") and entry.details.get("reached_temperature")
    ):
        return ""
    if entry.kind == CareKind.MAINTAINER:
        return "charge" if entry.details.get("state") == "on" else ""
    return ANSWERED_BY.get(entry.kind, "")


def waits(entries: Sequence[Entry], since: date | None) -> Iterator[tuple[str, date]]:
    """Each duty and the day on which it was done after a long wait; entries oldest first.

    The wait before the first care runs from ``since``; without that day it is not known.
    """
    last: dict[str, date] = {}
    for entry in entries:
        duty, day = answered(entry), day_of(entry)
        if not duty or duty == "inspection":
            continue
        before = last.get(duty, since)
        if before and day - before > SHORTEST_WAIT:
            yield duty, day
        last[duty] = day
