"""How much of a car's time in storage is known: by entries of the time, by what was told, by nothing."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise

from collection.care.queries.care import day_of
from collection.history.queries.history import recorded_late
from collection.models import Entry

Span = tuple[date, date]


@dataclass(frozen=True)
class Known:
    """The days of a period by how they are known; ``unknown_spans`` are those of which nothing is."""

    at_the_time: int
    told: int
    unknown: int
    unknown_spans: tuple[Span, ...]

    @property
    def days(self) -> int:
        """All together."""
        return self.at_the_time + self.told + self.unknown


def known_days(
    entries: Sequence[Entry], *, first: date, last: date, longest_days: float, told_from_start: bool
) -> Known:
    """Each day from first to last by what covers it.

    A stretch between two entries counts as known *at the time* where both were written down when they were
    done and it is no longer than an inspection may take (``longest_days``); as *told* where one of them was
    written later, and before the first entry where the record says that the car stood (``told_from_start``);
    else nothing is known of it. The last day is today's, so it counts as an entry of the time.
    """
    on_time = {day_of(entry) for entry in entries if not recorded_late(entry)} | {last}
    days = sorted(day for day in {day_of(entry) for entry in entries} | {last} if first <= day <= last)
    counts = {"at_the_time": 0, "told": 0, "unknown": 0}
    spans: list[Span] = []
    if days[0] > first:
        how = "told" if told_from_start else "unknown"
        counts[how] += (days[0] - first).days
        spans += [] if told_from_start else [(first, days[0])]
    for before, after in pairwise(days):
        length = (after - before).days
        if length > longest_days:
            counts["unknown"] += length
            spans.append((before, after))
        elif before in on_time and after in on_time:
            counts["at_the_time"] += length
        else:
            counts["told"] += length
    return Known(**counts, unknown_spans=tuple(spans))
