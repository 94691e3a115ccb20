"""A symptom, its possible causes and the tests that split them.

Likelihoods are written beside each outcome as ``cause`` (always) or ``cause:0.6``; the outcome
marked ``*`` takes whatever a cause has left. A cause that an outcome cannot have is excluded by it.
Weights and likelihoods are our own choice on workshop practice; they rank, they prove nothing.
"""

from dataclasses import dataclass
from enum import IntEnum
from functools import cached_property

import numpy as np
import numpy.typing as npt

from scheduler.recommission.tags import Permission
from scheduler.vocabulary.cited import Cited
from scheduler.vocabulary.errors import BadInput

Floats = npt.NDArray[np.float64]
REST = "*"


class Danger(IntEnum):
    """How much a test can hurt; each grade is worth so many minutes of detour (policy)."""

    NONE = 0
    LOW = 1
    SOME = 2
    HIGH = 3


DANGER_MINUTES = (0.0, 5.0, 15.0, 40.0)


@dataclass(frozen=True, slots=True)
class Cause:
    """One possible cause: its weight before any test, and what mends it."""

    key: str
    label: str
    weight: float
    remedy: str


@dataclass(frozen=True, slots=True)
class Outcome:
    """One way a test can come out, and the causes that can bring it about."""

    key: str
    words: str
    causes: str


@dataclass(frozen=True, slots=True)
class Probe:
    """One test: what to do, how it can come out, effort and danger, and the permission it needs."""

    key: str
    do: str
    minutes: float
    danger: Danger
    outcomes: tuple[Outcome, ...]
    caution: str = ""
    needs: Permission | None = None


@dataclass(frozen=True)
class Tree:
    """One symptom with its causes and tests; the tests stand in the order of the usual fixed list."""

    symptom: str
    label: str
    causes: tuple[Cause, ...]
    probes: tuple[Probe, ...]
    source: Cited
    caution: str = ""

    def __post_init__(self) -> None:
        for probe in self.probes:  # a slip in a table shows when it is made, not at the car
            _table(probe, [cause.key for cause in self.causes])

    @cached_property
    def weights(self) -> Floats:
        """Chance of each cause before any test, shape (causes,)."""
        weights = np.array([cause.weight for cause in self.causes])
        return np.asarray(weights / weights.sum())

    @cached_property
    def likelihoods(self) -> dict[str, Floats]:
        """For each test the chance of each outcome under each cause, shape (outcomes, causes)."""
        keys = [cause.key for cause in self.causes]
        return {probe.key: _table(probe, keys) for probe in self.probes}

    def probe(self, key: str) -> Probe:
        """The test called ``key``; BadInput lists the choices."""
        for probe in self.probes:
            if probe.key == key:
                return probe
        raise BadInput("test", f"{key!r} is none of {', '.join(probe.key for probe in self.probes)}")


def _table(probe: Probe, keys: list[str]) -> Floats:
    table = np.array([_row(outcome, keys) for outcome in probe.outcomes])
    left = 1.0 - table.sum(axis=0)
    rest = [i for i, outcome in enumerate(probe.outcomes) if REST in outcome.causes.split()]
    if np.any(left < -1e-9) or len(rest) != 1:
        raise BadInput("outcomes", f"{probe.key}: likelihoods exceed 1, or not one outcome takes the rest")
    table[rest[0]] += np.maximum(left, 0.0)
    return np.asarray(np.where(table < 1e-9, 0.0, table))


def _row(outcome: Outcome, keys: list[str]) -> list[float]:
    told = dict(word.partition(":")[::2] for word in outcome.causes.split() if word != REST)
    if strange := sorted(set(told) - set(keys)):
        raise BadInput("outcomes", f"{outcome.key}: no cause is called {', '.join(strange)}")
    return [float(told[key] or 1.0) if key in told else 0.0 for key in keys]
