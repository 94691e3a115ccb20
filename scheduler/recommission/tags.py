"""Tags on a car, and what they take away from it."""

from dataclasses import dataclass
from enum import IntEnum

from scheduler.recommission.stages.acts import Act

ORDER_OF_ACTS = {act: place for place, act in enumerate(Act)}


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
    """An open tag on one car: the first permission that it takes away, what is wrong, and where.

    ``acts_from`` is the least act that it forbids, None for none.
    """

    key: str
    revokes: Permission
    label: str
    text: str
    acts_from: Act | None = None

    def forbids(self, act: Act) -> bool:
        """Whether an act must wait until it is cleared."""
        return self.acts_from is not None and ORDER_OF_ACTS[act] >= ORDER_OF_ACTS[self.acts_from]
