"""What the record of a car was told, by day: as it was known then, or by all that is known now.

A car whose record nobody has opened has none of this: then what its row says is taken for all its time.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, tzinfo
from typing import Any

from collection.chain.replay import Fact, timeline
from collection.life.record_entries import as_written, record_entries
from collection.models import Battery, Vehicle

Entry = Mapping[str, Any]
STANDS = "on_stands"
HOLDING_DAYS = ("_since", "_on", ".on", "as_of")  # how fields end that hold a day


@dataclass(frozen=True)
class Record:
    """Entries of one car's record in the order of their writing; ``own`` ids name rows of ours."""

    entries: Sequence[Entry] = ()
    own: frozenset[str] = frozenset()
    zone: tzinfo | None = None

    def known_on(self, day: date) -> "Record":
        """As far as it was written down by the end of a day; its first entry speaks for before it too."""
        known = [
            entry
            for at, entry in enumerate(self.entries)
            if at == 0 or self.day_of(entry["recorded_at"]) <= day
        ]
        return Record(known, self.own, self.zone)

    def day_of(self, moment: Any) -> date:
        """The calendar day of a moment at the car's site."""
        day: date = moment.astimezone(self.zone).date()
        return day

    def value_on(self, name: str, day: date, row: Any) -> Any:
        """What a field was on a day; what its ``row`` says where the record was never opened."""
        if not self.entries:
            return row
        said = [fact.value for fact in timeline(self.entries, name) if _begun(fact, day)]
        return said[-1] if said else None

    def days(self) -> Iterator[date]:
        """Every day on which something of it became so, or became known; days that it holds among them."""
        for entry in self.entries:
            yield self.day_of(entry["recorded_at"])
            for name, fact in entry["details"].items():
                if isinstance(fact, dict):
                    told = (fact["since"], fact["now"] if name.endswith(HOLDING_DAYS) else None)
                    yield from (date.fromisoformat(day) for day in told if day)


def _begun(fact: Fact, day: date) -> bool:
    return fact.since is None or fact.since <= day.isoformat()


def records_of(vehicles: Mapping[int, Vehicle], zones: Mapping[int, tzinfo]) -> dict[int, Record]:
    """The record of each car as it was written."""
    found = record_entries(vehicles)
    return {
        pk: Record(
            [as_written(entry) for entry in found[pk]],
            frozenset(str(entry.pk) for entry in found[pk] if not entry.brought),
            zones[pk],
        )
        for pk in vehicles
    }


def day_or_none(text: Any) -> date | None:
    """A day as a field of the record holds it."""
    return date.fromisoformat(text) if isinstance(text, str) else text


def maintained(battery: Battery | None, record: Record, day: date) -> list[tuple[float, bool]]:
    """The days by ``day`` on which, by the record, a maintainer went on the battery (True) or came off."""
    if battery is None:
        return []
    if not record.entries:
        since = battery.maintainer_since
        return [(float(since.toordinal()), True)] if since and since <= day else []
    found = []
    for fact in timeline(record.entries, f"battery.{battery.pk}.maintainer_since"):
        when = day_or_none(fact.value) or day_or_none(fact.since)
        if when and when <= day:
            found.append((float(when.toordinal()), fact.value is not None))
    return found


def stands_of(vehicle: Vehicle, record: Record) -> list[tuple[date | None, bool]]:
    """Since when the car stood on stands or on its wheels, oldest first; None is since nobody knows when."""
    if not record.entries:
        return [(None, vehicle.on_stands)]
    facts = timeline(record.entries, STANDS)
    return [(day_or_none(fact.since), bool(fact.value)) for fact in facts]


def stands_known_from(vehicle: Vehicle, record: Record) -> float:
    """The day from which it is known whether the wheels carried the car: stands may be undated."""
    (since, on), *later = stands_of(vehicle, record) or [(None, False)]
    if since or not on:
        return float("-inf")
    return float(later[0][0].toordinal()) if later and later[0][0] else float("inf")
