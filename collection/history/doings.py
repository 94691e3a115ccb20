"""What was done, as the log says it; open tags and open faults."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from django.utils import timezone

from collection.care.queries.batches import Batch, fold
from collection.care.queries.care import day_of, unmended
from collection.care.templatetags.care_words import facts
from collection.history.grades import grade_of
from collection.history.queries.history import recorded_late
from collection.history.scope import Scope
from collection.models import Attachment, CareKind, Entry

OF_PLACE = ("From", "New place")  # facts of a move that name a place of ours


@dataclass(frozen=True)
class Doing:
    """One entry as a reader sees it; ``gone`` and ``instead`` tell of corrections in words."""

    day: date
    kind: str
    title: str
    facts: tuple[tuple[str, str], ...]
    note: str
    by: str
    written_late: date | None
    grade: int
    gone: str = ""
    instead: str = ""
    files: tuple[Attachment, ...] = ()
    withheld_files: int = 0


@dataclass(frozen=True)
class Brought:
    """What one table brought, in words; its entries stand below it, or nothing where all were taken back."""

    day: date
    name: str
    count: int
    first: date
    last: date
    by: str
    taken_back: int
    back_on: date | None
    doings: tuple[Doing, ...]
    is_batch: bool = True

    @property
    def words(self) -> str:
        """The line."""
        days = _day(self.first) if self.first == self.last else f"{_day(self.first)} to {_day(self.last)}"
        entries = "1 entry" if self.count == 1 else f"{self.count} entries"
        came = f"{entries} of {days}, brought in with {self.name} by {self.by}"
        if self.back_on is None:
            return came
        some = "taken back" if self.taken_back == self.count else f"{self.taken_back} of them taken back"
        return f"{came}; {some} on {_day(self.back_on)}"


@dataclass(frozen=True)
class OpenFault:
    """Something found that nobody has yet found mended."""

    day: date
    words: str
    by: str
    grade: int


def doings(log: Sequence[Entry], scope: Scope, units: str) -> list[Doing]:
    """The entries in scope, oldest first; they must come as ``whole_log`` gives them."""
    return [_doing(entry, scope, units) for entry in log if scope.covers(day_of(entry))]


def folded(log: Sequence[Entry], told: Sequence[Doing], scope: Scope) -> list[Doing | Brought]:
    """The doings of a log; what a larger table brought is one line, on the day on which it came in."""
    inside = [entry for entry in log if scope.covers(day_of(entry))]
    of = dict(zip((entry.pk for entry in inside), told, strict=True))
    lone, batches = fold(inside)
    lines: list[Doing | Brought] = [of[entry.pk] for entry in lone]
    for batch in batches:
        lines.append(_brought(batch, tuple(of[entry.pk] for entry in batch.entries), scope))
    return sorted(lines, key=lambda line: line.day)


def _brought(batch: Batch, told: tuple[Doing, ...], scope: Scope) -> Brought:
    return Brought(
        day=timezone.localtime(batch.recorded_at).date(),
        name=scope.said(batch.name) if scope.notes else "a table",
        count=batch.count,
        first=timezone.localtime(batch.first).date(),
        last=timezone.localtime(batch.last).date(),
        by=scope.author(batch.entries[0]),
        taken_back=batch.taken_back,
        back_on=timezone.localtime(batch.back_at).date() if batch.back_at else None,
        doings=told,
    )


def _doing(entry: Entry, scope: Scope, units: str) -> Doing:
    files = tuple(entry.attachments.all())
    shown = tuple(file for file in files if scope.files and scope.said(file.name) == file.name)
    late = timezone.localtime(entry.recorded_at).date() if recorded_late(entry) else None
    return Doing(
        day=day_of(entry),
        kind=entry.kind,
        title=entry.get_kind_display(),
        facts=told_facts(entry, scope, units),
        note=scope.said(entry.note) if scope.notes else "",
        by=scope.author(entry),
        written_late=late,
        grade=grade_of(entry),
        gone=_gone(entry, scope),
        instead=_instead(entry),
        files=shown,
        withheld_files=len(files) - len(shown),
    )


def told_facts(entry: Entry, scope: Scope, units: str) -> tuple[tuple[str, str], ...]:
    """Details and readings in the reader's units, without places where these are withheld."""
    pairs = facts(entry, units)
    if not scope.place and entry.kind == CareKind.MOVED:
        pairs = [(label, value) for label, value in pairs if label not in OF_PLACE]
    return tuple((label, scope.said(value)) for label, value in pairs)


def _gone(entry: Entry, scope: Scope) -> str:
    newer = getattr(entry, "corrected_by", None)
    if newer is None:
        return ""
    word = "withdrawn" if newer.kind == CareKind.WITHDRAWN else "corrected"
    return f"{word} {_day(timezone.localtime(newer.recorded_at).date())} by {scope.author(newer)}"


def _instead(entry: Entry) -> str:
    if entry.corrects is None:
        return ""
    word = "takes back" if entry.kind == CareKind.WITHDRAWN else "corrects"
    return f"{word} the entry of {_day(day_of(entry.corrects))}"


def _day(value: date) -> str:
    return f"{value:%a} {value.day} {value:%b %Y}"


def open_faults(entries: Sequence[Entry], scope: Scope) -> list[OpenFault]:
    """What inspections found since the last that found nothing wrong; standing entries, oldest first."""
    return [
        OpenFault(day, scope.said(words), scope.author(entry), grade_of(entry))
        for entry, day, words in unmended(entries)
    ]
