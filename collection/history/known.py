"""How much of a car's time in storage is known: by entries of the time, by what was told, by nothing."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise

from collection.care.queries.care import day_of
from collection.history.kept import count_days
from collection.history.queries.history import LATE_RECORDED, Unseen, recorded_late
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

    @property
    def words(self) -> str:
        """For how much of the time a count of entries speaks."""
        return known_for(self.days - self.unknown, self.unknown)


def known_for(known: int, unknown: int) -> str:
    """What stands beside a count."""
    return f"known for {count_days(known)}, unknown for {unknown:,}"


def known_days(
    entries: Sequence[Entry], *, first: date, last: date, unseen: Unseen, opened: date | None = None
) -> Known:
    """Each day from first to last by what covers it.

    Of a stretch longer than an inspection may take (``unseen`` days
    from each of some days on) nothing is known. A shorter one counts
    as known *at the time* where the entries at both its ends were written down when they were done, else as
    *told*; so does one before the first entry, but where the record was ``opened`` as the car came. The last
    day counts as an entry of the time.
    """
    on_time = {day_of(entry) for entry in entries if not recorded_late(entry)} | {last}
    on_time |= {first} if opened and opened - first <= LATE_RECORDED else set()
    days = sorted({first, last} | {day for day in map(day_of, entries) if first <= day <= last})
    counts = {"at_the_time": 0, "told": 0, "unknown": 0}
    spans: list[Span] = []
    for (before, after), longest_days in zip(pairwise(days), unseen(days[:-1]), strict=True):
        length = (after - before).days
        if length > longest_days:
            counts["unknown"] += length
            spans.append((before, after))
        else:
            counts["at_the_time" if before in on_time and after in on_time else "told"] += length
    return Known(**counts, unknown_spans=tuple(spans))
