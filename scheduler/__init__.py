"""What is computed: how stored vehicles decay, when each duty falls due, and why.

Pure Python and numpy; no Django anywhere. Arrays in, arrays out, a whole fleet at once. From outside:

    from scheduler import forecast      cars as dated facts in, states and duties out

It is loaded when it is first asked for, so that reading the vocabulary loads no numpy.
"""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from scheduler.command.forecast import forecast

__all__ = ["forecast"]


def __getattr__(name: str) -> object:
    if name != "forecast":
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from scheduler.command.forecast import forecast

    return forecast
