"""What the check of a table found, kept small enough to be shown."""

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

from django.core.exceptions import ValidationError

MOST_FAULTS = 500  # shown; all are counted
MOST_NOTES = 200
SAMPLES = 10
Beat = Callable[[int], None]  # told how many rows are done; raises Superseded


class Superseded(Exception):
    """Another job has taken over, or the table was taken out: whoever gets this writes nothing."""


@dataclass
class Findings:
    """Faults and notes by row and field, and the first rows as they would be stored."""

    faults: list[dict[str, Any]] = field(default_factory=list)
    notes: list[dict[str, Any]] = field(default_factory=list)
    samples: list[dict[str, Any]] = field(default_factory=list)
    counts: Counter[str] = field(default_factory=Counter)
    cars: dict[str, list[int]] = field(default_factory=dict)  # names that fit no car or several

    def fault(self, row: int, field_: str, text: str) -> None:
        """One thing to be mended."""
        self.counts["faults"] += 1
        if len(self.faults) < MOST_FAULTS:
            self.faults.append({"row": row, "field": field_, "text": text})

    def note(self, row: int, field_: str, text: str) -> None:
        """One thing to be known."""
        self.counts["notes"] += 1
        if len(self.notes) < MOST_NOTES:
            self.notes.append({"row": row, "field": field_, "text": text})

    def refused(self, row: int, error: ValidationError, name: Callable[[str], str] = str) -> None:
        """What an action refused, at the fields that it names."""
        messages = error.message_dict if hasattr(error, "error_dict") else {"": error.messages}
        for key, texts in messages.items():
            for text in texts:
                self.fault(row, name(key), text)

    def sample(self, row: int, values: dict[str, Any]) -> None:
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
            "cars": self.cars,
        }


def _plain(value: Any) -> Any:
    return value.isoformat() if isinstance(value, date | datetime) else value
