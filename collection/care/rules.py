"""What each kind of care log entry may hold, read from the rows of the vocabulary.

Forms take their limits from here, so that page and programme refuse the same things.
"""

from scheduler.vocabulary.care import CARE, Care
from scheduler.vocabulary.details import REST, TEMPERATURE, Along, Detail, Number, Reading
from scheduler.vocabulary.quantities import QUANTITIES, Quantity

__all__ = ["ASKS", "DETAILS", "LIMITS", "MAY_HOLD", "NEEDS_A_READING", "REST", "TEMPERATURE", "read_as"]

_ASKED = {ask.quantity for row in CARE for ask in row.asks if isinstance(ask, Reading)}


def _asks(row: Care) -> tuple[Detail | Reading | Along, ...]:
    """What the kind asks for; a quantity that no kind asks for is asked for at its home."""
    at_home = (Reading(quantity=each.code) for each in QUANTITIES if each.home == row.code)
    return (*row.asks, *(reading for reading in at_home if reading.quantity not in _ASKED))


def read_as(quantity: Quantity) -> Number:
    """The limits of a reading."""
    return Number(
        key=quantity.code, label=quantity.title, low=quantity.low, high=quantity.high, unit=quantity.unit
    )


ASKS = {row.code: _asks(row) for row in CARE}
DETAILS: dict[str, dict[str, Detail]] = {
    kind: {ask.key: ask for ask in asks if isinstance(ask, Detail)} for kind, asks in ASKS.items()
}
LIMITS = {quantity.code: read_as(quantity) for quantity in QUANTITIES}
MAY_HOLD = {
    kind: frozenset(ask.quantity for ask in asks if isinstance(ask, Reading)) for kind, asks in ASKS.items()
}
NEEDS_A_READING = frozenset(row.code for row in CARE if row.needs_reading)
