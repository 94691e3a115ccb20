"""Days, people and lists as people say them."""

from collections.abc import Iterable
from datetime import date

from scheduler.vocabulary.duties import DUTY, is_duty


def spoken(day: int, beside: int | None = None) -> str:
    """A day ordinal as "Thu 3 Dec"; with its year where that is not the year of the day ``beside``."""
    when = date.fromordinal(day)
    other = beside is not None and date.fromordinal(beside).year != when.year
    return f"{when:%a} {when.day} {when:%b}" + (f" {when.year}" if other else "")


def counted(number: int, noun: str) -> str:
    """ "1 day", "3 days"."""
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def listed(names: Iterable[str], joint: str = "and") -> str:
    """ "a", "a and b", "a, b and c"."""
    words = list(names)
    return f" {joint} ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)


def label(duty: str) -> str:
    """A duty in words."""
    return DUTY[duty].work.label if is_duty(duty) else duty.replace("_", " ")
