"""What the core said, kept as long as it is asked the very same.

The core has no clock, no database and no reader in it: of the same arrays, the same air, the same
thresholds and the same days it says the same. So an answer is found again by all that the core was given,
read anew from the record each time, and cannot be old: whatever bears on it makes another question. Who
may see what is decided before the question; units, names and what is withheld come after the answer.

Only for functions of their arguments alone, at the top of a module, whose answers nobody alters.
"""

import hashlib
from collections import OrderedDict
from collections.abc import Callable, Hashable, Iterator
from dataclasses import fields, is_dataclass
from threading import Lock
from typing import Any, TypeVar

import numpy as np

from scheduler.duties.conditions import Fleet

MOST = 1000  # answers that a process keeps; the largest, a curve of two years, takes 25 kB

Answer = TypeVar("Answer")
_KEPT: OrderedDict[Hashable, Any] = OrderedDict()
_LOCK = Lock()


def memoised(work: Callable[..., Answer], fleet: Fleet, *given: Hashable) -> Answer:
    """``work(fleet, *given)``, or what it gave before; what it raises is raised each time."""
    key = (work, _facts(fleet), fleet.places, given)  # a place is itself: another air is another place
    with _LOCK:
        if key in _KEPT:
            _KEPT.move_to_end(key)
            return _KEPT[key]  # type: ignore[no-any-return]  # what this work gave
    answer = work(fleet, *given)
    with _LOCK:
        _KEPT[key] = answer
        while len(_KEPT) > MOST:
            _KEPT.popitem(last=False)
    return answer


def _facts(fleet: Fleet) -> bytes:
    """A digest of every array of a fleet and of its tables."""
    digest = hashlib.sha256()
    for name, array in _arrays(fleet):
        digest.update(f"{name} {array.dtype} {array.shape}|".encode())
        digest.update(array.tobytes())
    return digest.digest()


def _arrays(table: Any) -> Iterator[tuple[str, np.ndarray[Any, Any]]]:
    for each in fields(table):
        value = getattr(table, each.name)
        if isinstance(value, np.ndarray):
            yield each.name, value
        elif is_dataclass(value):
            yield from _arrays(value)
