"""A care log being written: entries with their readings, times and authors, stored at the end."""

import random
import uuid
from collections.abc import Sequence
from datetime import date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from collection.care.actions.attachments import attach
from collection.care.actions.chain import chain_missing
from collection.care.attachments import Attached
from collection.care.draft import Measured
from collection.models import Bay, CareKind, Entry, Person, Reading, Vehicle

FIRST_HOUR, LAST_HOUR = 8, 16
WORKING_DAYS = range(1, 5)  # Tuesday to Friday


class Diary:
    """Collects entries in memory, the same each time: each chapter has a chance of its own.

    So a change to one car's line leaves the others' two years as they were.
    """

    def __init__(self, keepers: Sequence[Person], zone: ZoneInfo, now: datetime) -> None:
        self.keepers, self.zone, self.now = list(keepers), zone, now
        self.rng = random.Random()  # noqa: S311 - no secret
        self.entries: list[Entry] = []
        self.readings: list[Reading] = []
        self.files: list[tuple[Entry, Attached]] = []

    def begin(self, chapter: str) -> None:
        """Begin a chapter with its own chance."""
        self.rng = random.Random(chapter)  # noqa: S311 - no secret

    @property
    def today(self) -> date:
        """The day at the barn."""
        return self.now.astimezone(self.zone).date()

    def write(  # noqa: PLR0913 - an entry has that many parts; keywords only
        self,
        car: Vehicle,
        kind: CareKind,
        day: date,
        *,
        details: dict[str, Any] | None = None,
        readings: Sequence[Measured] = (),
        note: str = "",
        typed_up_after_days: int = 0,
        corrects: Entry | None = None,
        by: Person | None = None,
    ) -> Entry:
        """One entry at a plausible hour; recorded soon after, or days later from the paper sheet."""
        done = self._hour(day)
        recorded = done + timedelta(days=typed_up_after_days, minutes=self.rng.randint(1, 70))
        pk = uuid.UUID(int=self.rng.getrandbits(128), version=4)
        entry = Entry(
            pk=pk,
            vehicle=car,
            kind=kind,
            done_at=done,
            recorded_at=min(recorded, self.now),
            note=note,
            by=by or self.rng.choice(self.keepers),
            details=details or {},
            corrects=corrects,
            idempotency_key=str(pk),
        )
        self.entries.append(entry)
        self.readings += [
            Reading(
                entry=entry,
                quantity=one.quantity,
                value=one.value,
                position=one.position,
                temperature_c=one.temperature_c,
                rest_hours=one.rest_hours,
            )
            for one in readings
        ]
        return entry

    def enclose(self, entry: Entry, file: Attached) -> None:
        """A photograph or paper goes with an entry."""
        self.files.append((entry, file))

    def correct(
        self,
        old: Entry,
        *,
        after_days: int,
        kind: CareKind | None = None,
        note: str = "",
        details: dict[str, Any] | None = None,
        readings: Sequence[Measured] = (),
    ) -> Entry:
        """An entry that takes the place of an old one and keeps its day."""
        entry = self.write(
            old.vehicle,
            CareKind(kind or old.kind),
            old.done_at.astimezone(self.zone).date(),
            details=details,
            readings=readings,
            note=note,
            corrects=old,
            by=old.by,
        )
        entry.done_at = old.done_at
        entry.recorded_at = min(old.recorded_at + timedelta(days=after_days), self.now)
        return entry

    def move(self, car: Vehicle, day: date, to: Bay, note: str = "", start: Bay | None = None) -> Entry:
        """A move from one bay to another, with both places written out."""
        details = {
            "wheels_only": False,
            "to_bay": to.pk,
            "to_bay_label": str(to),
            "from_bay": start.pk if start else None,
            "from_bay_label": str(start) if start else "",
        }
        return self.write(car, CareKind.MOVED, day, details=details, note=note)

    def strike(self, car: Vehicle, kinds: Sequence[CareKind], since: date, until: date | None = None) -> None:
        """Leave out what could not have been done: the routine knows nothing of tags and frozen batteries."""
        until = until or self.today
        self.entries = [
            entry
            for entry in self.entries
            if not (entry.vehicle == car and entry.kind in kinds and since <= entry.done_at.date() <= until)
        ]
        kept = {entry.pk for entry in self.entries}
        self.readings = [reading for reading in self.readings if reading.entry_id in kept]

    def working_day(self, day: date) -> date:
        """That day, or the next on which somebody works; never after yesterday."""
        while day.weekday() not in WORKING_DAYS:
            day += timedelta(days=1)
        return min(day, self.today - timedelta(days=1))

    def store(self) -> None:
        """Write everything, corrected entries before those that correct them."""
        self.entries.sort(key=lambda entry: (entry.corrects_id is not None, entry.recorded_at))
        Entry.objects.bulk_create(self.entries, batch_size=500)
        Reading.objects.bulk_create(self.readings, batch_size=500)
        for entry, file in self.files:
            attach(entry, [file])
        chain_missing()

    def _hour(self, day: date) -> datetime:
        moment = time(self.rng.randint(FIRST_HOUR, LAST_HOUR), self.rng.choice((0, 5, 10, 20, 30, 40, 45)))
        return datetime.combine(day, moment, self.zone)
