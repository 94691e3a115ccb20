"""What was read for one page, kept while that page is made."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Any, TypeVar

# What was read inside ``cached_reads``, by what was asked; None outside.
_READS: ContextVar[dict[Any, Any] | None] = ContextVar("gathered", default=None)
Value = TypeVar("Value")


@contextmanager
def cached_reads() -> Iterator[None]:
    """Read the same cars and thresholds only once: for a page that asks much about one car.

    Nothing may be written inside: what was read before would be told after.
    """
    token = _READS.set({})
    try:
        yield
    finally:
        _READS.reset(token)


def once(key: Any, make: Callable[[], Value]) -> Value:
    """What ``make`` gives, inside ``cached_reads`` only once for one key."""
    kept = _READS.get()
    if kept is None:
        return make()
    if key not in kept:
        kept[key] = make()
    return kept[key]  # type: ignore[no-any-return]  # what was made under this key
