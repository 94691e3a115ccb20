"""What the check of a table found, kept small enough to be shown."""

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from itertools import islice
from typing import Any, TypeVar

from django.core.exceptions import ValidationError

from collection.spreadsheets.sheets.shaping import RowName

MOST_FAULTS = 500  # shown; all are counted
MOST_ASKED = 60  # different texts that are asked about at once
MOST_NOTES = 200
SAMPLES = 10
PIECE_S = 0.4  # policy: for so long a piece may hold the database; half of it lets the next be larger
T = TypeVar("T")
Beat = Callable[[int], None]  # told how many rows are done; raises Superseded


class Pace:
    """How much is stored at once: so much that nobody waits long, on a slow or busy machine too."""

    def __init__(self, *, first: int, most: int) -> None:
        self.size, self._most = first, most

    def took(self, seconds: float) -> None:
        """A piece of the size so far held the database for so long."""
        fits = int(self.size * PIECE_S / max(seconds, PIECE_S / 2))
        self.size = max(1, min(fits, self._most))


def pieces_of(rows: Iterable[T], pace: Pace) -> Iterator[tuple[T, ...]]:
    """The rows in pieces, each as large as those before allow."""
    left = iter(rows)
    return iter(lambda: tuple(islice(left, pace.size)), ())


class Superseded(Exception):
    """Another job has taken over, or the table was taken out: whoever gets this writes nothing."""


@dataclass
class Findings:
    """Faults and notes by row and field, and the first rows as they would be stored."""

    faults: list[dict[str, Any]] = field(default_factory=list)
    notes: list[dict[str, Any]] = field(default_factory=list)
    samples: list[dict[str, Any]] = field(default_factory=list)
    counts: Counter[str] = field(default_factory=Counter)
    asked: dict[str, dict[str, Any]] = field(default_factory=dict)
    left: list[str] = field(default_factory=list)  # columns that mean nothing and are not brought in
    bad: dict[str, None] = field(default_factory=dict)  # rows with faults, in their order

    def ask(self, row: RowName, field_: str, text: str, fits: Sequence[int | str] = ()) -> None:
        """A text that one answer explains in every row; ``fits``: what it may mean, by number or name."""
        key = f"{field_} {text}"
        if key not in self.asked and len(self.asked) >= MOST_ASKED:
            return
        asked = self.asked.setdefault(
            key, {"field": field_, "text": text[:200], "rows": 0, "first": row, "fits": list(fits)[:20]}
        )
        asked["rows"] += 1

    def fault(self, row: RowName, field_: str, text: str) -> None:
        """One thing to be mended."""
        self.counts["faults"] += 1
        if str(row) not in self.bad:
            self.counts["bad_rows"] += 1
            self.bad[str(row)] = None
        if len(self.faults) < MOST_FAULTS:
            self.faults.append({"row": row, "field": field_, "text": text})

    def note(self, row: RowName, field_: str, text: str) -> None:
        """One thing to be known."""
        self.counts["notes"] += 1
        if len(self.notes) < MOST_NOTES:
            self.notes.append({"row": row, "field": field_, "text": text})

    def refused(self, row: RowName, error: ValidationError, name: Callable[[str], str] = str) -> None:
        """What an action refused, at the fields that it names."""
        messages = error.message_dict if hasattr(error, "error_dict") else {"": error.messages}
        for key, texts in messages.items():
            for text in texts:
                self.fault(row, name(key), text)

    def sample(self, row: RowName, values: dict[str, Any]) -> None:
        """One of the first rows as it would be stored."""
        if len(self.samples) < SAMPLES:
            self.samples.append({"row": row, "values": {key: _plain(value) for key, value in values.items()}})

    def report(self) -> dict[str, Any]:
        """To be stored."""
        return {
            "faults": self.faults,
            "notes": self.notes,
            "samples": self.samples,
            "counts": dict(self.counts),
            "asked": list(self.asked.values()),
            "bad": list(self.bad),
            "left": self.left,
        }


def _plain(value: Any) -> Any:
    return value.isoformat() if isinstance(value, date | datetime) else value
