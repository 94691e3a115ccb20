"""What a plan says: placements, moves, what does not fit and what would make it fit, and its worth."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Placement:
    """One task on one day: who, when (minutes from midnight), and why then. ``due``: that of a repeat counts
    from the day on which the one before it is planned.

    ``by_moving``: the task is done by the move of the same car that day, which carries its minutes.
    ``order``: 1 is the first step of that person's day.
    """

    task: str
    car: str
    duty: str
    day: int
    due: int
    person: str
    start: int
    minutes: int
    order: int
    late_days: int
    reason: str
    by_moving: bool = False


@dataclass(frozen=True)
class Move:
    """One car rolled out and back; ``to_reach`` are the cars behind it, ``task`` what it satisfies."""

    car: str
    day: int
    person: str
    start: int
    minutes: int
    order: int
    to_reach: tuple[str, ...]
    task: str | None


@dataclass(frozen=True)
class Unfit:
    """A task without a place, or placed late: why, and each single change that would have done.

    ``late_on``: the day it was placed after all (None: it has no place).
    """

    task: str
    car: str
    duty: str
    why: str
    would_fit: tuple[str, ...]
    late_on: int | None = None


@dataclass(frozen=True)
class Score:
    """What the plan is worth. ``gap`` is (cost − bound) / cost; 0 means proven best."""

    cost: int
    bound: float
    gap: float
    proven: bool
    late_tasks: int
    late_hours: float
    unplaced: int
    visits: int
    moves: int
    changed: int
    busiest_share: float
    spread_share: float
    seconds: float


@dataclass(frozen=True)
class Plan:
    """Twelve weeks of one site, in order of day, person and step.

    ``later``: tasks whose windows run on past the plan and that wait for the next one.
    ``held``: tasks that may not be done now, with the reason.
    """

    placements: tuple[Placement, ...]
    moves: tuple[Move, ...]
    unfit: tuple[Unfit, ...]
    later: tuple[str, ...]
    held: tuple[tuple[str, str], ...]
    score: Score
