"""What was read for one page, kept while that page is made."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Any, TypeVar

# What was read inside ``remembered``, by what was asked; None outside.
_REMEMBERED: ContextVar[dict[Any, Any] | None] = ContextVar("gathered", default=None)
Found = TypeVar("Found")


@contextmanager
def remembered() -> Iterator[None]:
    """Read the same cars and thresholds only once: for a page that asks much about one car.

    Nothing may be written inside: what was read before would be told after.
    """
    token = _REMEMBERED.set({})
    try:
        yield
    finally:
        _REMEMBERED.reset(token)


def once(key: Any, make: Callable[[], Found]) -> Found:
    """What ``make`` gives, inside ``remembered`` only once for one key."""
    kept = _REMEMBERED.get()
    if kept is None:
        return make()
    if key not in kept:
        kept[key] = make()
    return kept[key]  # type: ignore[no-any-return]  # what was made under this key
