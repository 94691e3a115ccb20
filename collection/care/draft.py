"""What somebody wants to log, in SI units, before anything is checked."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from collection.care.attachments import Attached
from collection.models import Entry, Vehicle


@dataclass(frozen=True)
class Measured:
    """A reading to be logged, in SI units: see collection.models.Quantity."""

    quantity: str
    value: float
    position: str = ""
    temperature_c: float | None = None
    rest_hours: float | None = None

    @property
    def field(self) -> str:
        """The name under which a form shows it and an error names it."""
        return f"{self.quantity}_{self.position}" if self.position else self.quantity


@dataclass(frozen=True)
class Draft:
    """An entry to be; ``done_at`` None is just now.

    ``claim_skew_s`` is by how many seconds the clock that says ``done_at`` runs ahead of ours, where
    that is worth a flag: the time is kept as claimed, and the skew beside it.
    """

    vehicle: Vehicle
    kind: str
    done_at: datetime | None
    details: Mapping[str, Any] = field(default_factory=dict)
    readings: Sequence[Measured] = ()
    note: str = ""
    corrects: Entry | None = None
    claim_skew_s: int = 0
    attachments: Sequence[Attached] = ()
