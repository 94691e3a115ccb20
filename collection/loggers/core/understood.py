"""What a logger's file says, once it is understood; without what reads files, which is heavy."""

from dataclasses import dataclass
from typing import Any

from collection.loggers.reading.layout import Layout
from scheduler.loggers import Hours


@dataclass(frozen=True)
class Understood:
    """``facts`` are plain values, to be kept and shown; ``hours`` what is kept of the readings."""

    layout: Layout
    facts: dict[str, Any]
    hours: Hours
