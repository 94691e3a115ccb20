"""A statement's source, how well it is known, and the plain form in which answers leave the core."""

from dataclasses import dataclass

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
