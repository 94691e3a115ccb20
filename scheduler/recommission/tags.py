"""Tags on a car, and what they take away from it."""

from dataclasses import dataclass
from enum import IntEnum


class Permission(IntEnum):
    """What may be done with the car, each including those before it."""

    CRANK = 0
    RUN = 1
    MOVE = 2
    ROAD = 3

    @property
    def label(self) -> str:
        """Words for people."""
        return ("may crank", "may run", "may move", "may use the road")[self]


@dataclass(frozen=True)
class Tag:
    """An open tag on one car: the first permission that it takes away, what is wrong, and where."""

    key: str
    revokes: Permission
    label: str
    text: str
