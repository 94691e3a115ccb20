"""A number with its unit, its source and how well it is known."""

from dataclasses import dataclass
from enum import StrEnum


class Standing(StrEnum):
    """How well a number is known; shown beside it wherever it is shown."""

    PUBLISHED = "published"
    COMMON_PRACTICE = "common practice"
    FROM_MEMORY = "from memory, unverified"
    POLICY = "policy"
    COMPUTED = "computed from published values"


@dataclass(frozen=True, slots=True)
class Constant:
    """One number, once: its likely value and the low and high that sources allow."""

    value: float
    unit: str
    source: str
    standing: Standing
    low: float | None = None
    high: float | None = None

    def __post_init__(self) -> None:
        low = self.value if self.low is None else self.low
        high = self.value if self.high is None else self.high
        if not low <= self.value <= high:
            raise ValueError(f"{self.source}: {low} <= {self.value} <= {high} does not hold")

    @property
    def range(self) -> tuple[float, float, float]:
        """Low, likely, high."""
        return (
            self.value if self.low is None else self.low,
            self.value,
            self.value if self.high is None else self.high,
        )
