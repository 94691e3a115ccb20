"""What a column may mean, with the names that people give it."""

from collections.abc import Callable
from dataclasses import dataclass

from scheduler.vocabulary.positions import Position

Choices = tuple[tuple[str, str], ...]
TEXT, NUMBER, WHOLE, DATE, MOMENT, CLOCK, FLAG, CHOICE, WORDS = (
    "text",
    "number",
    "whole",
    "date",
    "moment",
    "clock",
    "flag",
    "choice",
    "words",
)


@dataclass(frozen=True)
class Field:
    """One thing that a column may tell."""

    key: str
    label: str
    type: str = TEXT
    unit: str = ""  # the unit in which it is stored, a key of the table of units
    also: tuple[str, ...] = ()  # other headings
    choices: Callable[[], Choices] | None = None
    group: str = ""

    @property
    def names(self) -> tuple[str, ...]:
        """Every heading that means it, our own first."""
        return (self.label, *self.also)


@dataclass(frozen=True)
class Kind:
    """What a file is brought in for."""

    key: str
    title: str
    fields: tuple[Field, ...]

    def field(self, key: str) -> Field | None:
        """The field of that key."""
        return next((field for field in self.fields if field.key == key), None)


def names(text: str) -> tuple[str, ...]:
    """Headings parted by strokes."""
    return tuple(part.strip() for part in text.split("|") if part.strip())


def headings_at(position: Position, patterns: str) -> tuple[str, ...]:
    """Headings of one position: each of its short names put into each pattern."""
    return tuple(pattern.format(short) for short in names(position.short) for pattern in names(patterns))
