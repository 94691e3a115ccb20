"""What every duty answers: a window for each car, and for one car the reason in full."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]

NOT_HELD = -1
Day = float | Floats  # one day for all rows, or a day for each (n,): a row is a car as a day saw it


def each_row(day: Day, rows: int) -> Floats:
    """The day of each of some rows, (rows,)."""
    return np.full(rows, day, float)


@dataclass(frozen=True)
class DutyWindow:
    """The windows of one duty for a fleet, shape (n,) each; days as ordinals, NaN for never.

    ``early``: a pessimist's date; ``due``: the likely date; ``late``: damage or an unfit state
    begins. ``early <= due <= late`` wherever all three exist. ``limit`` says which of ``limits``
    sets the due date. ``hold`` says which of ``holds`` forbids the duty for now (-1: none); the
    dates stay, so that lifting the hold brings the duty straight back. ``assumed``: at least one
    input was assumed because the record is silent.
    """

    early: Floats
    due: Floats
    late: Floats
    limits: tuple[str, ...]
    limit: Ints
    holds: tuple[str, ...]
    hold: Ints
    assumed: Bools


@dataclass(frozen=True)
class Input:
    """One input of a calculation and where it came from."""

    name: str
    value: float | date | str
    unit: str
    basis: str  # "reading", "record", "care log", "assumed", "learned", "policy", "climate"
    on: date | None = None


@dataclass(frozen=True)
class Step:
    """One equation, with this car's numbers put in, and what comes out."""

    label: str
    equation: str
    worked: str


@dataclass(frozen=True)
class Source:
    """Where a number or an equation comes from, and how well it is known."""

    text: str
    standing: str


@dataclass(frozen=True)
class Explanation:
    """Why a duty falls due when it does: the same text for page, paper and programme."""

    summary: str
    inputs: tuple[Input, ...]
    steps: tuple[Step, ...]
    sources: tuple[Source, ...]
    assumptions: tuple[str, ...] = ()
    learning: tuple[str, ...] = ()  # assumed rate, learned rate, how many readings


@dataclass(frozen=True)
class Level:
    """A line that a curve must not cross."""

    name: str
    value: float


@dataclass(frozen=True)
class Band:
    """One quantity over days for one car: low, likely and high, shape (days,) each."""

    name: str
    unit: str
    days: Floats
    low: Floats
    likely: Floats
    high: Floats
    levels: tuple[Level, ...] = field(default=())


def ordered(early: Floats, due: Floats, late: Floats) -> tuple[Floats, Floats, Floats]:
    """The same three days (n,) with early no later than due, and late no earlier; an unknown late stays
    NaN."""
    return np.fmin(early, due), due, np.where(np.isnan(due), late, np.maximum(late, due))


def joined(parts: Sequence[DutyWindow]) -> DutyWindow:
    """The windows of one duty for blocks of a fleet as those of the whole."""
    columns = {
        name: np.concatenate([getattr(part, name) for part in parts])
        for name in ("early", "due", "late", "limit", "hold", "assumed")
    }
    return DutyWindow(limits=parts[0].limits, holds=parts[0].holds, **columns)
