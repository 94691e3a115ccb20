"""A statement's source, how well it is known, and the plain form in which answers leave the core."""

from collections.abc import Mapping
from dataclasses import dataclass, fields, is_dataclass
from datetime import date
from typing import Any

from scheduler.vocabulary.constants import Standing


@dataclass(frozen=True, slots=True)
class Cited:
    """Where a rule or a value comes from, and how well it is known."""

    text: str
    standing: Standing


LOGIC = Cited("follows from the order of events", Standing.COMPUTED)


def published(text: str) -> Cited:
    """A rule whose text has been seen in its source."""
    return Cited(text, Standing.PUBLISHED)


def practice(text: str) -> Cited:
    """A rule of the trade, from second-hand or workshop sources."""
    return Cited(text, Standing.COMMON_PRACTICE)


def memory(text: str) -> Cited:
    """A value nobody has checked: never shown as a cited figure."""
    return Cited(text, Standing.FROM_MEMORY)


def policy(text: str) -> Cited:
    """A threshold of our own, with its reason."""
    return Cited(text, Standing.POLICY)


def plain(answer: Any) -> Any:
    """Any answer of this package as dicts, lists, text and numbers, ready for JSON (dates as ISO text)."""
    if is_dataclass(answer) and not isinstance(answer, type):
        return {part.name: plain(getattr(answer, part.name)) for part in fields(answer)}
    if isinstance(answer, Mapping):
        return {str(key): plain(value) for key, value in answer.items()}
    if isinstance(answer, (list, tuple)):
        return [plain(value) for value in answer]
    if isinstance(answer, (set, frozenset)):
        return sorted(plain(value) for value in answer)
    if isinstance(answer, date):
        return answer.isoformat()
    return finite(answer)


def finite(value: Any) -> Any:
    """JSON has no infinity: a bound that does not bind becomes None."""
    return None if isinstance(value, float) and abs(value) == float("inf") else value
