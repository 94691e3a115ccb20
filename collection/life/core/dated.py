"""What the record of a car was told, by day: as it was known then, or by all that is known now.

A car whose record nobody has opened has none of this: then what its row says is taken for all its time.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, tzinfo
from functools import cached_property
from typing import Any

from django.core.exceptions import ValidationError
from django.db.models import Field, Model

from collection.chain.replay import BAY, EMPTY, Fact, timeline
from collection.life.record_entries import as_written, record_entries
from collection.models import Battery, Fluid, Fuel, LastUse, Tyre, Vehicle

Entry = Mapping[str, Any]
STANDS = "on_stands"
MODELS: dict[str, type[Model]] = {
    "": Vehicle,
    "battery": Battery,
    "fuel": Fuel,
    "fluid": Fluid,
    "tyre": Tyre,
    "last": LastUse,
}


@dataclass(frozen=True)
class Record:
    """Entries of one car's record in the order of their writing; ``own`` ids name rows of ours.

    ``is_whole``: nothing was written down since, so that the rows of the car are what it says at last.
    """

    entries: Sequence[Entry] = ()
    own: frozenset[str] = frozenset()
    zone: tzinfo | None = None
    is_whole: bool = True

    def known_on(self, day: date) -> "Record":
        """As far as it was written down by the end of a day; its first entry speaks for before it too."""
        written = self._written
        known = tuple(at for at in range(len(written)) if at == 0 or written[at] <= day)
        if len(known) == len(written):
            return self
        if known not in self._parts:
            entries = [self.entries[at] for at in known]
            self._parts[known] = Record(entries, self.own, self.zone, is_whole=False)
        return self._parts[known]

    @cached_property
    def _written(self) -> list[date]:
        return [self.day_of(entry["recorded_at"]) for entry in self.entries]

    @cached_property
    def _parts(self) -> dict[tuple[int, ...], "Record"]:
        return {}

    def day_of(self, moment: Any) -> date:
        """The calendar day of a moment at the car's site."""
        day: date = moment.astimezone(self.zone).date()
        return day

    @cached_property
    def lines(self) -> dict[str, list[Fact]]:
        """Each field but the bay through time."""
        names = dict.fromkeys(name for entry in self.entries for name, _ in _facts(entry))
        return {name: timeline(self.entries, name) for name in names if name != BAY}

    def value_on(self, name: str, day: date, row: Any) -> Any:
        """What a field was on a day; what its ``row`` says where the record was never opened."""
        if not self.entries:
            return row
        return value_on(self.lines.get(name, []), day)

    def goes_beyond(self, day: date) -> bool:
        """Whether anything of it became so, or became known, after a day, so that rows say more than was."""
        return bool(self.entries) and not (self.is_whole and self._latest <= day)

    @cached_property
    def _latest(self) -> date:
        return max([*self._written, *self._begins()])

    def _begins(self) -> Iterator[date]:
        for entry in self.entries:
            yield from (day for _, fact in _facts(entry) if (day := day_or_none(fact["since"])))

    @cached_property
    def parts(self) -> dict[tuple[str, str, str], list[Fact]]:
        """Each field that our rows have, by part of the car, which of several, and column, as rows hold it.

        What another keeper wrote down in a form that we cannot read is empty.
        """
        parts = {}
        for name, line in self.lines.items():
            where, _, column = name.rpartition(".")
            part, _, which = where.partition(".")
            if field := _field(part, column):
                parts[part, which, column] = [replace(fact, value=_clean(field, fact.value)) for fact in line]
        return parts

    def days(self) -> Iterator[date]:
        """Every day on which something of it became so, or became known; days that it holds among them."""
        yield from self._written
        yield from self._begins()
        for line in self.parts.values():
            yield from (fact.value for fact in line if isinstance(fact.value, date))


def _facts(entry: Entry) -> Iterator[tuple[str, Mapping[str, Any]]]:
    return ((name, fact) for name, fact in entry["details"].items() if isinstance(fact, dict))


def _field(part: str, column: str) -> "Field[Any, Any] | None":
    names = {field.name: field for field in MODELS[part]._meta.fields} if part in MODELS else {}
    field = names.get(column)
    return None if field is None or field.is_relation or field.primary_key else field


def _clean(field: "Field[Any, Any]", value: Any) -> Any:
    try:
        return None if value in EMPTY else field.clean(value, None)
    except ValidationError:
        return None


def value_on(line: Sequence[Fact], day: date, *, from_first: bool = False) -> Any:
    """What a field was on a day; ``from_first``: its first value counts from the first."""
    begun = [fact.value for fact in line if fact.since is None or fact.since <= day.isoformat()]
    if not begun and from_first and line:
        return line[0].value
    return begun[-1] if begun else None


def records_of(vehicles: Mapping[int, Vehicle], zones: Mapping[int, tzinfo]) -> dict[int, Record]:
    """The record of each car as it was written."""
    entries = record_entries(vehicles)
    return {
        pk: Record(
            [as_written(entry) for entry in entries[pk]],
            frozenset(str(entry.pk) for entry in entries[pk] if not entry.brought),
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
    changes = []
    for fact in record.lines.get(f"battery.{battery.pk}.maintainer_since", []):
        when = day_or_none(fact.value) or day_or_none(fact.since)
        if when and when <= day:
            changes.append((float(when.toordinal()), fact.value is not None))
    return changes


def stands_of(vehicle: Vehicle, record: Record) -> list[tuple[date | None, bool]]:
    """Since when the car stood on stands or on its wheels, oldest first; None is since nobody knows when."""
    if not record.entries:
        return [(None, vehicle.on_stands)]
    return [(day_or_none(fact.since), bool(fact.value)) for fact in record.lines.get(STANDS, [])]


def stands_known_from(vehicle: Vehicle, record: Record) -> float:
    """The day from which it is known whether the wheels carried the car: stands may be undated."""
    (since, on), *later = stands_of(vehicle, record) or [(None, False)]
    if since or not on:
        return float("-inf")
    return float(later[0][0].toordinal()) if later and later[0][0] else float("inf")
