"""What a check finds: what is so, and what to do about it."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import TypeAlias


@dataclass(frozen=True)
class Finding:
    """One thing that is not as it should be; ``wrong`` when it does harm or soon will."""

    what: str
    mend: str
    wrong: bool = True


@dataclass(frozen=True)
class Look:
    """When the look is taken, and whether everything is read, however long that takes."""

    now: datetime
    deep: bool = False


Check: TypeAlias = Callable[[Look], Iterator[Finding]]


def odd(what: str, mend: str) -> Finding:
    """Something to know of that may be meant so."""
    return Finding(what, mend, wrong=False)
